// What lots and charges are made of, read from the facts in force at a moment of recorded time.
import type { FactOf, Grams, Ms } from '../../events/fact.ts'
import { digest } from '../digest.ts'
import type { Noted } from '../fact-book.ts'
import { layered, type Ops, UNRECORDED, type Weighing } from '../ledger/writing.ts'
import {
  DISAGREES,
  spreadOfSum,
  together,
  weighingOf,
  weighingOps,
  yieldOps,
  yieldSpread,
} from './weighing.ts'
import {
  byTap,
  type Drawn,
  metalGrams,
  placed,
  pour,
  source,
  sum,
  type Weighed,
  whole,
  type Yard,
} from './yard.ts'

// An addition of unsaid mass: at most this part of what was tapped. Common practice, no source.
const UNSAID = 0.01

/** A received lot is its own leaf; a collected one is what was thrown in; any other stays unwritten. */
export function lotCell(yard: Yard, lot: number, asOf: Ms): Drawn | undefined {
  const { book } = yard
  const received = book.of(lot, 'lot-received', asOf)[0]
  if (received) {
    const grams = whole(received.fact.amount) || 1
    return placed(received, [yard.own(lot), grams, yard.slot(lot), -grams])
  }
  const collected = book.of(lot, 'returns-collected', asOf)
  const sources = book.of(lot, 'returned-from', asOf)
  const moved = book.of(lot, 'metal-moved', asOf)
  const first = collected[0] ?? sources[0] ?? moved[0]
  if (!first) return undefined
  const ops: Ops = []
  let held = 0
  for (const move of moved) {
    ops.push(...weighingOps(yard, move))
    held += pour(ops, yard.taken(move), move.fact.amount)
  }
  const said = sum(collected.map((c) => c.fact.amount ?? 0))
  const known = sum(sources.map((s) => s.fact.amount ?? 0))
  const open = sources.filter((s) => s.fact.amount === undefined).length
  const each = open > 0 ? Math.max(said - known, open * 1000) / open : 0
  for (const source of sources) {
    ops.push(...weighingOps(yard, source))
    held += pourReturned(yard, ops, source, source.fact.amount ?? each, asOf)
  }
  // As with a gauge: weighed together it may come to a little more than by the book of what was thrown in.
  const parts = [...sources, ...moved].map((part) => ({
    grams: part.fact.amount ?? each,
    weighing: weighingOf(yard, part),
  }))
  const weighedWhole = collected.map((c) => ({
    grams: c.fact.amount ?? 0,
    weighing: weighingOf(yard, c),
  }))
  if (said - held > DISAGREES * Math.hypot(spreadOfSum(parts), spreadOfSum(weighedWhole)))
    held += pour(ops, UNRECORDED, said - held)
  if (held === 0) return undefined
  ops.push(yard.slot(lot), -held)
  return placed(first, ops)
}

export function chargeCell(yard: Yard, charge: number, asOf: Ms): Drawn | undefined {
  const lines = yard.book.of(charge, 'charge-line', asOf)
  if (lines.length === 0) return undefined
  const ops: Ops = []
  let grams = 0
  for (const line of lines) {
    ops.push(...weighingOps(yard, line), ...yieldOps(yard, line, asOf))
    grams += pour(ops, source(yard, line), metalGrams(yard, line, asOf))
  }
  if (grams === 0) return undefined
  ops.push(yard.slot(charge), -grams)
  return placed(lines[0]!, ops)
}

/** Metal of a charge that went into one heat: what it names, or all that no other heat names. */
export function chargedMetal(
  yard: Weighed,
  charged: Noted<FactOf<'heat-charged', number>>,
  asOf: Ms,
): Grams | undefined {
  const charge = charged.fact.other
  const lines = yard.book.of(charge, 'charge-line', asOf)
  const weighed = sum(lines.map((line) => line.fact.amount))
  if (lines.length === 0 || weighed === 0) return charged.fact.amount
  const metal = sum(lines.map((line) => metalGrams(yard, line, asOf)))
  if (charged.fact.amount !== undefined) return (charged.fact.amount * metal) / weighed
  const all = yard.book.other(charge, 'heat-charged', asOf)
  const named = sum(all.map((n) => n.fact.amount ?? 0))
  const unnamed = all.filter((n) => n.fact.amount === undefined).length
  return (Math.max(0, weighed - named) * metal) / weighed / unnamed
}

/** How surely the metal of a charge is known: by its own report of kg, else by its lines together. */
export function chargeWeighing(
  yard: Yard,
  charged: Noted<FactOf<'heat-charged', number>>,
  asOf: Ms,
): Weighing {
  const lines = yard.book.of(charged.fact.other, 'charge-line', asOf)
  if (lines.length === 0 || charged.fact.amount !== undefined) return weighingOf(yard, charged)
  return together(
    lines.map((line) => {
      const weighing = weighingOf(yard, line)
      const spread = yieldSpread(yard, line.fact.other, asOf)
      return {
        grams: line.fact.amount,
        weighing: { ...weighing, single: Math.hypot(weighing.single, spread) },
      }
    }),
  )
}

type Returned = Noted<FactOf<'returned-from', number>>

/** Castings and packs thrown back are metal of the pours they are made of. */
function pourReturned(yard: Yard, ops: Ops, source: Returned, grams: Grams, asOf: Ms): Grams {
  const thing = source.fact.other
  if (!isOfCastings(yard, thing)) {
    const kind = yard.things.kind(thing)
    return pour(ops, kind === 'heat' ? heatTaken(yard, thing, asOf) : yard.slot(thing), grams)
  }
  const parts = partsOf(yard, thing, asOf)
  let poured = 0
  if (isPicked(source, parts)) {
    const known = sum(parts.map(({ share }) => share))
    poured += pour(ops, yard.taken(source), grams * known)
  } else for (const part of parts) poured += pour(ops, yard.slot(part.pour), grams * part.share)
  return poured + pour(ops, UNRECORDED, grams - poured)
}

/** What is thrown out of a load is picked for its faults: it may be of any of its pours, and is taken as of all alike. */
export function pickedCell(yard: Yard, source: Returned, asOf: Ms): Drawn | undefined {
  if (!isOfCastings(yard, source.fact.other)) return undefined
  const parts = partsOf(yard, source.fact.other, asOf)
  if (!isPicked(source, parts)) return undefined
  const ops: Ops = [...layered(0, 'by choice')]
  let there = 0
  for (const part of parts) there += pour(ops, yard.slot(part.pour), part.grams ?? 0)
  ops.push(yard.taken(source), -Math.min(there, whole(source.fact.amount ?? 0) || 1))
  // Cells of one report are told apart by what they name, whatever came in first.
  const tie = digest(`${source.said.tie} ${yard.things.name(source.fact.other)}`) | 0
  return there > 0 ? { ...placed(source, ops), tie } : undefined
}

function isOfCastings({ things }: Yard, no: number): boolean {
  const kind = things.kind(no)
  return kind === 'load' || kind === 'tote' || kind === 'pack' || kind === 'pan'
}

type Part = ReturnType<Yard['castings']['metalOf']>[number]

/** By name: in the order they came in, the same question would not always meet the same noise. */
function partsOf(yard: Yard, thing: number, asOf: Ms): Part[] {
  const name = ({ pour }: Part) => yard.things.name(pour)
  return yard.castings.metalOf(thing, asOf).sort((a, b) => (name(a) < name(b) ? -1 : 1))
}

function isPicked({ fact }: Returned, parts: readonly Part[]): boolean {
  return fact.amount !== undefined && parts.length > 1 && parts.some(({ grams }) => grams)
}

function heatTaken(yard: Yard, heat: number, asOf: Ms): number {
  const tap = yard.book.other(heat, 'ladle-tapped', asOf).sort(byTap)[0]
  return tap ? yard.taken(tap) : UNRECORDED
}

/** An addition whose mass nobody said is there all the same, beside a little that is not known. */
export function additionOps(
  yard: Yard,
  addition: Noted<FactOf<'heat-added' | 'ladle-added' | 'pour-added', number>>,
  metal: Grams,
  asOf: Ms,
): Ops {
  const slot = source(yard, addition)
  if (addition.fact.amount === undefined) return [slot, 1, UNRECORDED, whole(UNSAID * metal) || 1]
  return [
    ...weighingOps(yard, addition),
    ...yieldOps(yard, addition, asOf),
    slot,
    whole(metalGrams(yard, addition, asOf)) || 1,
  ]
}
