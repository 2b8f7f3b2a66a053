// A measured quantity over time: what charts and capability are made of.
import type { FactOf, Kind, Ms } from '../../events/fact.ts'
import { UNITS } from '../../events/units.ts'
import type { View } from '../../metal/followed.ts'
import { grouped } from '../estimate.ts'
import type { Completeness } from '../record/completeness.ts'
import type { Moment } from '../record/record-in-hand.ts'
import { refusal } from '../refusal.ts'
import { contractWord } from '../things/amounts.ts'
import { fittedHeats } from '../things/fit.ts'

/** The GraphQL input MeasureOf. */
export interface MeasureOf {
  quantity: string
  window: { from: number; to: number }
  on?: string | null
  machine?: string | null
  /** Samples of heats less what was to be expected of what was charged. */
  lessPredicted?: boolean
}

export interface Reading {
  at: Ms
  value: number
  thing: number
}

export interface Series {
  /** Readings with a value, by time. */
  readings: Reading[]
  /** Readings that say only that the value lies below or above the range of the method. */
  beyondMethod: number
  /** UN/CEFACT Recommendation 20 code. */
  unit: string
}

/** What was read of a quantity, as held at the view's moment. Throws a refusal for a window the wrong way round. */
export function seriesOf({ view, asOf }: Moment, plant: string, of: MeasureOf): Series {
  const { from, to } = of.window
  if (!(from < to)) throw refusal('BAD_USER_INPUT', 'of.window.from must lie before of.window.to.')
  if (of.lessPredicted) return lessPredicted({ view, asOf }, plant, of)
  const kind = of.on == null ? undefined : contractWord(of.on)
  const readings: Reading[] = []
  let beyondMethod = 0
  let unit = ''
  for (const { fact } of view.book.all('measured', view.asOf)) {
    if (fact.quantity !== of.quantity || fact.at < from || fact.at >= to) continue
    if (view.things.plant(fact.of) !== plant) continue
    if (kind !== undefined && view.things.kind(fact.of) !== kind) continue
    if (of.machine != null && !machinesOf(view, fact.of).includes(of.machine)) continue
    if (fact.bound) {
      beyondMethod++
      continue
    }
    unit = fact.unit
    readings.push(readingOf(fact))
  }
  readings.sort((a, b) => a.at - b.at || a.thing - b.thing || a.value - b.value)
  return { readings, beyondMethod, unit }
}

/** What the ledger did not foresee: a heel makes heats follow one another, and this takes that out. */
function lessPredicted(moment: Moment, plant: string, of: MeasureOf): Series {
  const { view } = moment
  const { from, to } = of.window
  const readings = fittedHeats(moment, plant, to)
    .filter(
      ({ at, furnace }) =>
        at >= from && (of.machine == null || view.things.name(furnace) === `furnace:${of.machine}`),
    )
    .flatMap(({ heat, at, innovations }) => {
      const told = innovations.find(({ symbol }) => symbol === of.quantity)
      return told ? [{ at, thing: heat, value: told.read - told.predicted }] : []
    })
    .sort((a, b) => a.at - b.at || a.thing - b.thing)
  return { readings, beyondMethod: 0, unit: 'P1' }
}

/** What is drawn, in words. */
export function quantityWords({ quantity, lessPredicted }: MeasureOf): string {
  return lessPredicted ? `${quantity} less what was to be expected` : quantity
}

function readingOf({ at, amount, of }: FactOf<'measured', number>): Reading {
  return { at, value: amount, thing: of }
}

/** Where a thing was made or handled, by names on the floor. */
function machinesOf(view: View, no: number): string[] {
  const { book, things, asOf } = view
  const places: Partial<Record<Kind, () => (string | undefined)[]>> = {
    furnace: () => [things.name(no)],
    heat: () => book.of(no, 'heat-begun', asOf).map(({ fact }) => things.name(fact.via)),
    ladle: () => book.of(no, 'ladle-tapped', asOf).map(({ fact }) => things.name(fact.via)),
    molds: () => book.of(no, 'molds-made', asOf).map(({ fact }) => things.name(fact.via)),
    pour: () => book.of(no, 'poured', asOf).map(({ fact }) => things.name(fact.via)),
    load: () => book.of(no, 'load-handled', asOf).flatMap(({ fact }) => [fact.machine, fact.line]),
  }
  const found = places[things.kind(no)]?.() ?? []
  return found.flatMap((name) => (name === undefined ? [] : [name.replace(/^[a-z]+:/, '')]))
}

/** Name of a unit as people say it. */
export function unitName(code: string): string {
  return UNITS.get(code)?.name ?? code
}

/** A value with as many digits as its spread can tell. */
export function figure(value: number, spread: number): string {
  const digits = Math.max(0, Math.min(6, 2 - Math.ceil(Math.log10(spread || Math.abs(value) || 1))))
  return value.toFixed(digits)
}

/** The GraphQL object TooLittle: what was found is not enough to say anything. */
export function tooLittle(
  { readings, beyondMethod }: Series,
  of: MeasureOf,
  completeness: Completeness,
  why: string,
): object {
  const found =
    readings.length === 0
      ? `No reading of ${quantityWords(of)} lies in that stretch${beyondMethod > 0 ? `, beside ${grouped(beyondMethod)} beyond the range of their method` : ''}.`
      : `${grouped(readings.length)} readings of ${quantityWords(of)} lie in that stretch.`
  return { __typename: 'TooLittle', sentence: `${found} ${why}`, completeness }
}
