// The steps that the fit is told, read from the facts in force.
import type { FactOf, Ms } from '../../../events/fact.ts'
import type { View } from '../../followed.ts'
import { chargedMetal } from '../../melt/charging.ts'
import { type Line, metalGrams } from '../../melt/yard.ts'
import {
  type Fill,
  type HeatStep,
  type Part,
  type Percents,
  type Source,
  STAYING,
  type Staying,
  type Step,
} from './steps.ts'

// Common practice, no source: a scale of half a percent, a gauge of a tenth, an analysis of a hundredth
// of what it reads and never under 15 parts in a million.
const WEIGHING = 0.005
const GAUGE = 0.1
const ANALYSIS = { part: 0.01, least: 0.0015 }

/** The newest heats that begin before a moment, at most so many, and the bins filled before them. */
export function stepsOf(view: View, plant: string, most: number, before: Ms): Step[] {
  const heats = heatsOf(view, plant)
    .filter(({ at }) => at < before)
    .sort((a, b) => a.at - b.at)
    .slice(-most)
  const fills = [...fillsOf(view, plant)].filter(({ at }) => at < before)
  return [...fills, ...heats.map((heat) => stepOf(view, heat))].sort((a, b) => a.at - b.at)
}

/** What is known of a lot, bin or furnace before samples speak of it. */
export function sourceOf(view: View, no: number): Source {
  const { book, things, asOf } = view
  const received = book.of(no, 'lot-received', asOf)[0]
  if (received) {
    const analyzed = analyzedOf(view, no)
    return {
      material: received.fact.material,
      role: received.fact.role === 'metallic' ? 'metallic' : 'other',
      from: received.fact.at,
      ...(analyzed && { analyzed }),
    }
  }
  const collected = book.of(no, 'returns-collected', asOf)[0]
  const returned = collected ?? book.of(no, 'metal-moved', asOf)[0]
  if (returned) return { material: 'returns', role: 'returns', from: returned.fact.at }
  return {
    material: things.kind(no),
    role: things.kind(no) === 'furnace' ? 'returns' : 'other',
    from: Number.NEGATIVE_INFINITY,
  }
}

function analyzedOf(view: View, lot: number): Percents | undefined {
  const readings = view.book.of(lot, 'measured', view.asOf).filter(({ fact }) => fact.unit === 'P1')
  if (readings.length === 0) return undefined
  const percents: Percents = {}
  for (const { fact } of readings) {
    if (isStaying(fact.quantity))
      percents[fact.quantity] = fact.bound === 'below' ? fact.amount / 2 : fact.amount
  }
  return percents
}

function isStaying(symbol: string): symbol is Staying {
  return (STAYING as readonly string[]).includes(symbol)
}

function* fillsOf(view: View, plant: string): Iterable<Fill> {
  const { book, things, asOf } = view
  for (const { fact } of book.all('bin-filled', asOf)) {
    if (things.plant(fact.of) !== plant) continue
    yield { sort: 'fill', at: fact.at, bin: fact.of, parts: [part(fact.other, fact.amount)] }
  }
  for (const what of ['lot-received', 'returns-collected'] as const) {
    for (const { fact } of book.all(what, asOf)) {
      if (fact.via === undefined || things.plant(fact.of) !== plant) continue
      yield { sort: 'fill', at: fact.at, bin: fact.via, parts: [part(fact.of, fact.amount ?? 0)] }
    }
  }
}

type Begun = FactOf<'heat-begun', number>

function heatsOf(view: View, plant: string): Begun[] {
  return view.book
    .all('heat-begun', view.asOf)
    .map(({ fact }) => fact)
    .filter(({ of }) => view.things.plant(of) === plant)
}

function stepOf(view: View, begun: Begun): HeatStep {
  const { of: heat, via: furnace, at, fromEmpty, heel, heelSpread } = begun
  const taps = view.book.other(heat, 'ladle-tapped', view.asOf)
  const step: HeatStep = {
    sort: 'heat',
    at,
    heat,
    furnace,
    fromEmpty: fromEmpty ?? emptiedBefore(view, furnace, at),
    parts: partsOf(view, heat),
    tapped: taps.reduce((sum, tap) => sum + tap.fact.amount, 0),
  }
  if (heel !== undefined) step.heel = { grams: heel, spread: heelSpread ?? GAUGE * heel }
  const read = readOf(view, heat)
  if (read) step.read = read
  return step
}

/** Nothing was melted in it since it was said to be empty. */
function emptiedBefore(view: View, furnace: number, at: Ms): boolean {
  const { book, asOf } = view
  const emptied = book.of(furnace, 'furnace-emptied', asOf).filter(({ fact }) => fact.at <= at)
  const last = emptied.at(-1)
  if (!last || last.fact.amount > 0) return false
  return !book
    .via(furnace, 'heat-begun', asOf)
    .some(({ fact }) => fact.at < at && fact.at >= last.fact.at)
}

function partsOf(view: View, heat: number): Part[] {
  const { book, asOf } = view
  const parts: Part[] = []
  for (const charged of book.of(heat, 'heat-charged', asOf)) {
    const lines = book.of(charged.fact.other, 'charge-line', asOf)
    const metal = lines.reduce((sum, line) => sum + metalGrams(view, line, asOf), 0)
    const went = chargedMetal(view, charged, asOf)
    if (metal <= 0 || went === undefined) {
      // Weights never reported: it holds what nobody can say.
      parts.push({ of: charged.fact.other, grams: went ?? 0, spread: went ?? 0 })
      continue
    }
    for (const line of lines) parts.push(lineOf(view, line, went / metal))
  }
  for (const added of book.of(heat, 'heat-added', asOf)) parts.push(lineOf(view, added, 1))
  for (const { fact } of book.via(heat, 'metal-moved', asOf))
    parts.push(part(fact.other, fact.amount))
  return parts.filter(({ grams }) => grams > 0)
}

function lineOf(view: View, line: Line, went: number): Part {
  return part(line.fact.other, metalGrams(view, line, view.asOf) * went)
}

function part(of: number, grams: number): Part {
  return { of, grams, spread: WEIGHING * grams }
}

/** Means of the samples of the bath, element by element; limits say nothing of a mean. */
function readOf(view: View, heat: number): HeatStep['read'] {
  const values = new Map<Staying, number[]>()
  for (const { fact } of view.book.of(heat, 'measured', view.asOf)) {
    if (fact.unit !== 'P1' || !isStaying(fact.quantity) || fact.bound) continue
    values.set(fact.quantity, [...(values.get(fact.quantity) ?? []), fact.amount])
  }
  if (values.size === 0) return undefined
  const read: NonNullable<HeatStep['read']> = {}
  for (const [symbol, list] of values) {
    const percent = list.reduce((sum, value) => sum + value, 0) / list.length
    const one = Math.max(ANALYSIS.least, ANALYSIS.part * percent)
    read[symbol] = { percent, spread: one / Math.sqrt(list.length) }
  }
  return read
}
