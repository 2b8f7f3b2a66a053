// What each charge, heat, ladle, pour and bin did, as ops of the ledger, read from the facts in force
// at a moment of recorded time. Nothing here keeps state: melt.ts decides what to read anew.
import type { FactOf, Grams, Ms } from '../events/fact.ts'
import { byMoment, type FactBook, type Noted } from './fact-book.ts'
import { keep, type Ops, open, set, UNRECORDED, unknown } from './ledger.ts'
import type { Things } from './things.ts'

/** What one vessel did in one go: where it belongs in time, and its ops. */
export interface Drawn {
  /** A lasting vessel; absent where mixing starts afresh. */
  vessel?: number
  at: Ms
  tie: number
  ops: Ops
}

/** Where compositions and vessels of things are kept, and what the castings side knows of metal. */
export interface Yard {
  book: FactBook
  things: Things
  /** Composition of a lot, charge, ladle or pour. */
  slot(no: number): number
  /** The lot itself, as received: a leaf. */
  own(lot: number): number
  /** Composition of what one fact took out of a vessel, and of a pour from one top-up on. */
  taken(noted: Noted): number
  part(noted: Noted): number
  vessel(no: number): number
  steel(ladle: number, name: string): number
  castings: CastingsMetal
}

/** What the castings side tells: metal of one mold, and of which pours a thing is made. */
export interface CastingsMetal {
  moldGrams(pour: number, asOf: Ms): Grams | undefined
  /** Parts by mass, together at most 1; the rest is of unknown origin. */
  metalOf(thing: number, asOf: Ms): { pour: number; share: number }[]
}

// Common practice, no source: a heel is gauged to about a tenth; taken at three times that.
const GAUGE = 0.3
// From memory: mains-frequency furnaces keep 50–70 % of the bath, so at most 7/3 of what is charged.
const HEEL_PER_CHARGE = 7 / 3
// Common practice, no source: what a ladle keeps when nobody says so.
const LADLE_HEEL = 0.05
// Common practice, no source: of a filling, what is poured when no report tells how much.
const POURED = 0.9
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
  for (const move of moved) held += pour(ops, yard.taken(move), move.fact.amount)
  const said = sum(collected.map((c) => c.fact.amount ?? 0))
  const known = sum(sources.map((s) => s.fact.amount ?? 0))
  const open = sources.filter((s) => s.fact.amount === undefined).length
  const each = open > 0 ? Math.max(said - known, open * 1000) / open : 0
  for (const source of sources) {
    held += pourMix(yard, ops, source.fact.other, source.fact.amount ?? each, asOf)
  }
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
  for (const line of lines) grams += pour(ops, source(yard, line), metalGrams(yard, line, asOf))
  if (grams === 0) return undefined
  ops.push(yard.slot(charge), -grams)
  return placed(lines[0]!, ops)
}

/** One heat on what its furnace kept: charges and additions in, ladles out, in the furnace's own order. */
export function heatCell(yard: Yard, heat: number, asOf: Ms): Drawn | undefined {
  const { book } = yard
  const begun = book.of(heat, 'heat-begun', asOf)[0]
  const charged = book.of(heat, 'heat-charged', asOf)
  const added = book.of(heat, 'heat-added', asOf)
  const moved = book.via(heat, 'metal-moved', asOf)
  const taps = book.other(heat, 'ladle-tapped', asOf).sort(byTap)
  const first = begun ?? [...charged, ...added, ...taps].sort(byMoment)[0]
  if (!first) return undefined
  const furnace = (first.fact as { via?: number }).via
  if (furnace === undefined) return undefined

  const tapped = sum(taps.map((t) => t.fact.amount))
  const inflows: Inflow[] = []
  let chargedGrams = 0
  for (const charge of charged) {
    const grams = chargedMetal(yard, charge, asOf) ?? tapped
    chargedGrams += grams
    const place = charge.fact.afterTap === undefined ? 0 : before(taps, charge.fact.afterTap)
    inflows.push({ place, noted: charge, ops: [yard.slot(charge.fact.other), whole(grams)] })
  }
  if (charged.length === 0 && added.length === 0 && moved.length === 0) {
    inflows.push({ place: 0, noted: first, ops: [UNRECORDED, whole(tapped)] })
  }
  for (const addition of added) {
    inflows.push({
      place: when(taps, addition),
      noted: addition,
      ops: additionOps(yard, addition, tapped, asOf),
    })
  }
  for (const move of moved) {
    const ops: Ops = [movedFrom(yard, move), whole(move.fact.amount)]
    inflows.push({ place: when(taps, move), noted: move, ops })
  }
  inflows.sort((a, b) => a.place - b.place || byMoment(a.noted, b.noted))

  const ops: Ops = [...unknown(whole(HEEL_PER_CHARGE * (chargedGrams || tapped)))]
  if (begun?.fact.heel !== undefined) ops.push(...gauged(begun.fact.heel, begun.fact.heelSpread))
  else if (begun?.fact.fromEmpty) ops.push(...set(0, 0))
  let next = 0
  for (let tap = 0; tap <= taps.length; tap++) {
    while (next < inflows.length && inflows[next]!.place === tap) ops.push(...inflows[next++]!.ops)
    const out = taps[tap]
    if (out) ops.push(yard.taken(out), -whole(out.fact.amount))
  }
  return placed(first, tidy(ops), yard.vessel(furnace))
}

/** One filling of a ladle: what the steel kept, the taps, the additions, then the pours. */
export function ladleCell(yard: Yard, ladle: number, asOf: Ms): Drawn | undefined {
  const { book } = yard
  const taps = book.of(ladle, 'ladle-tapped', asOf)
  const moved = book.of(ladle, 'metal-moved', asOf)
  const first = taps[0] ?? moved[0]
  if (!first) return undefined
  const steel = taps.find((t) => t.fact.steel !== undefined)?.fact.steel
  const heel = taps.find((t) => t.fact.heel !== undefined)?.fact.heel
  const filled = sum([...taps, ...moved].map((t) => t.fact.amount))

  const ops: Ops = []
  ops.push(...unknown(whole(LADLE_HEEL * filled)))
  if (heel !== undefined) ops.push(...(heel === 0 ? set(0, 0) : gauged(heel)))
  else if (steel !== undefined) ops.push(...keep())
  for (const tap of taps) pour(ops, yard.taken(tap), tap.fact.amount)
  for (const move of moved) pour(ops, movedFrom(yard, move), move.fact.amount)
  for (const addition of book.of(ladle, 'ladle-added', asOf)) {
    ops.push(...additionOps(yard, addition, filled, asOf))
  }
  const outs = [
    ...book.other(ladle, 'poured', asOf),
    ...book.other(ladle, 'topped-up', asOf),
    ...book.other(ladle, 'metal-moved', asOf),
    ...book.of(ladle, 'metal-spilled', asOf),
  ].sort(byBeginning)
  const pours = outs.filter((out) => out.fact.what === 'poured').length
  if (book.other(ladle, 'returned-from', asOf).length > 0) ops.push(yard.slot(ladle), -1)
  for (const out of outs) {
    if (out.fact.what === 'poured') {
      const unsaid = (POURED * filled) / pours
      ops.push(...pourOps(yard, out as Noted<FactOf<'poured', number>>, unsaid, asOf))
    } else {
      const amount = 'amount' in out.fact ? out.fact.amount : undefined
      ops.push(yard.taken(out), -whole(amount ?? LADLE_HEEL * filled))
    }
  }
  return placed(first, tidy(ops), steel === undefined ? undefined : yard.steel(ladle, steel))
}

/** A pour with additions of its own mixes them into what its ladle gave. */
export function pourCell(yard: Yard, no: number, asOf: Ms): Drawn | undefined {
  const added = yard.book.of(no, 'pour-added', asOf)
  const poured = yard.book.of(no, 'poured', asOf)[0]
  if (!poured || added.length === 0) return undefined
  const grams = pouredGrams(yard, poured, asOf) ?? 100 * sum(added.map((a) => a.fact.amount ?? 0))
  const ops: Ops = [yard.taken(poured), whole(grams)]
  for (const addition of added) ops.push(...additionOps(yard, addition, grams, asOf))
  ops.push(yard.slot(no), -inflow(ops))
  return placed(poured, ops)
}

/** What a vessel did that belongs to no heat and no filling, by one fact. */
export function loneCell(
  yard: Yard,
  noted: Noted,
  side: 'in' | 'out',
  asOf: Ms,
): Drawn | undefined {
  const { fact } = noted
  const found = yard.book.of(fact.of, fact.what, asOf).find((n) => n === noted)
  if (!found) return undefined
  switch (fact.what) {
    case 'furnace-emptied':
      return placed(
        noted,
        fact.amount === 0 ? set(0, 0) : gauged(fact.amount),
        yard.vessel(fact.of),
      )
    case 'vessel-set':
      return placed(
        noted,
        fact.amount === 0 ? set(0, 0) : gauged(fact.amount, fact.spread),
        yard.vessel(fact.of),
      )
    case 'metal-moved': {
      const grams = whole(fact.amount)
      if (side === 'out') return placed(noted, [yard.taken(noted), -grams], yard.vessel(fact.other))
      return placed(
        noted,
        [movedFrom(yard, noted as Noted<FactOf<'metal-moved', number>>), grams],
        yard.vessel(fact.of),
      )
    }
    case 'metal-spilled':
      return placed(noted, [yard.taken(noted), -whole(fact.amount)], yard.vessel(fact.of))
    case 'poured': {
      const poured = noted as Noted<FactOf<'poured', number>>
      return placed(noted, pourOps(yard, poured, 0, asOf), yard.vessel(fact.other!))
    }
    case 'bin-filled':
      if (side === 'out') return drawnFromBin(yard, noted, fact.other, fact.amount, asOf)
      return placed(
        noted,
        [source(yard, noted as BinLine), whole(fact.amount)],
        yard.vessel(fact.of),
      )
    case 'lot-received':
    case 'returns-collected':
      return placed(noted, [yard.slot(fact.of), whole(fact.amount ?? 0)], yard.vessel(fact.via!))
    case 'charge-line':
    case 'heat-added':
    case 'ladle-added':
    case 'pour-added':
      return drawnFromBin(yard, noted, fact.other, fact.amount ?? 0, asOf)
    default:
      return undefined
  }
}

/** Slots a pour's molds were filled from, in order, with how many molds each filled. */
export function pourParts(yard: Yard, no: number, asOf: Ms): { slot: number; molds: number }[] {
  const poured = yard.book.of(no, 'poured', asOf)[0]
  if (!poured) return []
  const target = yard.slot(no)
  const tops = yard.book.of(no, 'topped-up', asOf).sort((a, b) => a.fact.mold - b.fact.mold)
  const parts = [{ slot: target, molds: 0 }]
  let from = poured.fact.first
  for (const top of tops) {
    const at = Math.min(Math.max(top.fact.mold, from), poured.fact.last + 1)
    parts.at(-1)!.molds += at - from
    parts.push({ slot: yard.part(top), molds: 0 })
    from = at
  }
  parts.at(-1)!.molds += poured.fact.last + 1 - from
  return parts.filter((part) => part.molds > 0)
}

/** A bin is worked out as mixed only where it is said to be; else what is drawn from it is unrecorded. */
export function isMixed(yard: Yard, bin: number, asOf: Ms): boolean {
  const said = yard.book.of(bin, 'bin-filled', asOf).filter((n) => n.fact.mixing !== undefined)
  return said.length > 0 && said.every((n) => n.fact.mixing === 'mixed')
}

/** What a lot's weighed kg is worth as metal. */
export function metalShare(yard: Yard, lot: number, asOf: Ms): number {
  return (yard.book.of(lot, 'lot-received', asOf)[0]?.fact.metalPercent ?? 100) / 100
}

type BinLine = Noted<FactOf<'bin-filled', number>>
type Line = Noted<
  FactOf<'charge-line' | 'heat-added' | 'ladle-added' | 'pour-added' | 'bin-filled', number>
>
interface Inflow {
  /** Taps that come before it. */
  place: number
  noted: Noted
  ops: Ops
}

function pourOps(
  yard: Yard,
  poured: Noted<FactOf<'poured', number>>,
  unsaid: Grams,
  asOf: Ms,
): Ops {
  const no = poured.fact.of
  const grams = pouredGrams(yard, poured, asOf) ?? unsaid
  const added = yard.book.of(no, 'pour-added', asOf).length > 0
  const target = added ? yard.taken(poured) : yard.slot(no)
  const tops = yard.book.of(no, 'topped-up', asOf).sort((a, b) => a.fact.mold - b.fact.mold)
  if (tops.length === 0) return [target, -whole(grams)]
  const molds = poured.fact.last - poured.fact.first + 1
  const ops: Ops = []
  for (const [i, part] of pourParts(yard, no, asOf).entries()) {
    if (i > 0) pour(ops, yard.taken(tops[i - 1]!), tops[i - 1]!.fact.amount ?? grams / molds)
    ops.push(i === 0 ? target : part.slot, -whole((grams * part.molds) / molds))
  }
  return ops
}

function pouredGrams(
  yard: Yard,
  poured: Noted<FactOf<'poured', number>>,
  asOf: Ms,
): Grams | undefined {
  const { fact } = poured
  if (fact.amount !== undefined) return fact.amount
  const mold = fact.moldGrams ?? yard.castings.moldGrams(fact.of, asOf)
  return mold === undefined ? undefined : mold * (fact.last - fact.first + 1)
}

/** Metal of a charge that went into one heat: what it names, or all that no other heat names. */
function chargedMetal(
  yard: Yard,
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

function metalGrams(yard: Yard, line: Line, asOf: Ms): Grams {
  const share =
    yard.things.kind(line.fact.other) === 'lot' ? metalShare(yard, line.fact.other, asOf) : 1
  return (line.fact.amount ?? 0) * share
}

/** An addition whose mass nobody said is there all the same, beside a little that is not known. */
function additionOps(
  yard: Yard,
  addition: Noted<FactOf<'heat-added' | 'ladle-added' | 'pour-added', number>>,
  metal: Grams,
  asOf: Ms,
): Ops {
  const slot = source(yard, addition)
  if (addition.fact.amount === undefined) return [slot, 1, UNRECORDED, whole(UNSAID * metal) || 1]
  return [slot, whole(metalGrams(yard, addition, asOf)) || 1]
}

function source(yard: Yard, line: Line): number {
  const kind = yard.things.kind(line.fact.other)
  return kind === 'bin' ? yard.taken(line) : yard.slot(line.fact.other)
}

/** Metal moved out of a furnace or ladle has the composition of that moment. */
function movedFrom(yard: Yard, move: Noted<FactOf<'metal-moved', number>>): number {
  const kind = yard.things.kind(move.fact.other)
  return kind === 'furnace' || kind === 'ladle' ? yard.taken(move) : yard.slot(move.fact.other)
}

function drawnFromBin(
  yard: Yard,
  noted: Noted,
  bin: number,
  grams: Grams,
  asOf: Ms,
): Drawn | undefined {
  if (yard.things.kind(bin) !== 'bin' || !isMixed(yard, bin, asOf)) return undefined
  return placed(
    noted,
    [...unknown(whole(grams)), yard.taken(noted), -(whole(grams) || 1)],
    yard.vessel(bin),
  )
}

/** Castings and packs thrown back are metal of the pours they are made of. */
function pourMix(yard: Yard, ops: Ops, thing: number, grams: Grams, asOf: Ms): Grams {
  const kind = yard.things.kind(thing)
  if (kind !== 'load' && kind !== 'tote' && kind !== 'pack' && kind !== 'pan') {
    const slot = kind === 'heat' ? heatTaken(yard, thing, asOf) : yard.slot(thing)
    return pour(ops, slot, grams)
  }
  let poured = 0
  for (const part of yard.castings.metalOf(thing, asOf)) {
    poured += pour(ops, yard.slot(part.pour), grams * part.share)
  }
  return poured + pour(ops, UNRECORDED, grams - poured)
}

function heatTaken(yard: Yard, heat: number, asOf: Ms): number {
  const tap = yard.book.other(heat, 'ladle-tapped', asOf).sort(byTap)[0]
  return tap ? yard.taken(tap) : UNRECORDED
}

function gauged(grams: Grams, spread?: Grams): Ops {
  return set(whole(grams), whole(spread === undefined ? GAUGE * grams : 3 * spread))
}

/** Taps by their number where they have one, else by time. */
function byTap(
  a: Noted<FactOf<'ladle-tapped', number>>,
  b: Noted<FactOf<'ladle-tapped', number>>,
): number {
  if (a.fact.tap !== undefined && b.fact.tap !== undefined && a.fact.tap !== b.fact.tap) {
    return a.fact.tap - b.fact.tap
  }
  return byMoment(a, b)
}

function byBeginning(a: Noted, b: Noted): number {
  const begin = (n: Noted) =>
    'from' in n.fact && n.fact.from !== undefined ? n.fact.from : n.fact.at
  return begin(a) - begin(b) || byMoment(a, b)
}

/** Taps that come before something said to be after the k-th. */
function before(taps: Noted<FactOf<'ladle-tapped', number>>[], k: number): number {
  return taps.filter((tap, i) => (tap.fact.tap ?? i + 1) <= k).length
}

/** Where only clocks tell: an addition comes before a tap of the same moment. */
function when(
  taps: Noted<FactOf<'ladle-tapped', number>>[],
  noted: Noted & { fact: { afterTap?: number } },
): number {
  if (noted.fact.afterTap !== undefined) return before(taps, noted.fact.afterTap)
  return taps.filter((tap) => tap.fact.at < noted.fact.at).length
}

function placed(noted: Noted, ops: Ops, vessel?: number): Drawn {
  const { fact, said } = noted
  const at = 'from' in fact && fact.from !== undefined ? fact.from : fact.at
  if (vessel === undefined) return { at, tie: said.tie, ops }
  return { vessel, at, tie: said.tie, ops: [...open(vessel), ...ops] }
}

function pour(ops: Ops, slot: number, grams: Grams): Grams {
  const amount = whole(grams)
  if (amount > 0) ops.push(slot, amount)
  return Math.max(0, amount)
}

function inflow(ops: Ops): Grams {
  let grams = 0
  for (let i = 0; i < ops.length; i += 2) if (ops[i]! >= 0 && ops[i + 1]! > 0) grams += ops[i + 1]!
  return grams
}

/** Leaves out what rounds to nothing: a zero is neither in nor out. */
function tidy(ops: Ops): Ops {
  const kept: Ops = []
  for (let i = 0; i < ops.length; i += 2) {
    if (ops[i]! < 0 || ops[i + 1] !== 0) kept.push(ops[i]!, ops[i + 1]!)
  }
  return kept
}

function whole(grams: Grams): number {
  return Math.round(grams)
}

function sum(values: number[]): number {
  return values.reduce((total, value) => total + value, 0)
}
