// What is recorded of castings after the mold: by the load of each step they went through.
import type { Ms } from '../../events/fact.ts'
import type { HandlingView } from '../../metal/castings.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { unitName } from '../answers/series.ts'
import { lotIn } from './poured-factors.ts'
import { batches, dose, levels, measure, moment, type Recorded } from './recorded.ts'

const MINUTES = 60_000
const HOURS = 3_600_000

/** Of the makeup of this number: units are the loads of one step. */
export function stepFactors(
  view: View,
  plant: string,
  { step, handlings }: { step: string; handlings: readonly HandlingView[] },
  makeup: number,
): Recorded[] {
  const by = <T>(of: (one: HandlingView) => T | undefined) => handlings.map(of)
  const before = new Map(handlings.map((one) => [one, stepBefore(view, one)]))
  const steps = new Set([...before.values()].map((one) => one?.step))
  return [
    ...levels(
      `${step} machine`,
      makeup,
      by(({ machine }) => machine),
      { machines: true },
    ),
    ...batches(
      `load at ${step}`,
      makeup,
      by(({ load }) => load),
      (no) => view.things.name(no),
    ),
    ...measure(
      `minutes at ${step}`,
      makeup,
      by(({ from, at }) => (at - from) / MINUTES),
      'minutes',
    ),
    ...moment(
      `time of ${step}`,
      makeup,
      by(({ from }) => from),
    ),
    ...[...steps].flatMap((last) =>
      last === undefined
        ? []
        : measure(
            `${last} to ${step}`,
            makeup,
            by((one) => {
              const prior = before.get(one)
              return prior?.step === last ? (one.from - prior.at) / MINUTES : undefined
            }),
            'minutes',
          ),
    ),
    ...measure(
      `hours since the ${step} machine was changed`,
      makeup,
      by((one) => sinceChange(view, plant, one)),
      'hours',
    ),
    ...readings(view, step, handlings, makeup),
    ...materials(view, step, handlings, makeup),
  ]
}

/** The step the same load went through last before. */
function stepBefore(view: View, { load, from }: HandlingView): HandlingView | undefined {
  return view.castings
    .handlingsOf(load)
    .filter((one) => one.at <= from && one.from < from)
    .sort((a, b) => a.at - b.at)
    .at(-1)
}

/** A change of crew is none of the machine, and people are no factor. */
function sinceChange(
  view: View,
  plant: string,
  { machine, from }: HandlingView,
): number | undefined {
  const no = machine === undefined ? undefined : view.things.numberOf(plant, `machine:${machine}`)
  if (no === undefined) return undefined
  const last = view.book
    .of(no, 'machine-changed', view.asOf)
    .findLast(({ fact }) => fact.at <= from && fact.change !== 'crew')
  return last && (from - last.fact.at) / HOURS
}

function readings(
  view: View,
  step: string,
  handlings: readonly HandlingView[],
  makeup: number,
): Recorded[] {
  const byQuantity = new Map<string, { unit: string; values: (number | undefined)[] }>()
  for (const [i, { load, from, at }] of handlings.entries())
    for (const { fact } of view.book.of(load, 'measured', view.asOf)) {
      if (fact.at < from || fact.at > at || fact.bound) continue
      const values = () => new Array<number | undefined>(handlings.length).fill(undefined)
      kept(byQuantity, fact.quantity, () => ({ unit: fact.unit, values: values() })).values[i] =
        fact.amount
    }
  return [...byQuantity].flatMap(([quantity, { unit, values }]) =>
    measure(`${quantity} at ${step}`, makeup, values, unitName(unit)),
  )
}

/** Lots that touched the load, and how long ago their tank was topped up. */
function materials(
  view: View,
  step: string,
  handlings: readonly HandlingView[],
  makeup: number,
): Recorded[] {
  const touched = new Map<number, Float64Array>()
  const sinceTopUp: (number | undefined)[] = handlings.map(() => undefined)
  for (const [i, { load, from, at, pass }] of handlings.entries())
    for (const { fact } of view.book.of(load, 'touched', view.asOf)) {
      if (fact.step !== step || (fact.pass ?? 1) !== pass || fact.at < from || fact.at > at)
        continue
      const lot = lotIn(view, fact.other, from)
      if (lot !== undefined) kept(touched, lot, () => new Float64Array(handlings.length))[i] = 1
      sinceTopUp[i] = hoursSinceFilled(view, fact.other, from) ?? sinceTopUp[i]
    }
  return [
    ...measure(`hours since the tank at ${step} was topped up`, makeup, sinceTopUp, 'hours'),
    ...[...touched].flatMap(([lot, amounts]) => dose(view.things.name(lot), makeup, lot, amounts)),
  ]
}

function hoursSinceFilled(view: View, bin: number, at: Ms): number | undefined {
  const last = view.book.of(bin, 'bin-filled', view.asOf).findLast(({ fact }) => fact.at <= at)
  return last && (at - last.fact.at) / HOURS
}
