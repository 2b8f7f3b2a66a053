// What a question follows: where its metal begins in the ledger, and which castings it touched
// without staying in them. Touch stops at a melt; mass does not.
import type { FactOf, Ms, Role } from '../events/fact.ts'
import type { Castings } from './castings.ts'
import type { FactBook, Noted } from './fact-book.ts'
import type { Worth } from './ledger.ts'
import { CLOCKS, lostSightFrom } from './lost-sight.ts'
import type { Melt } from './melt.ts'
import type { Things } from './things.ts'

/** One moment of the record: everything an answer is worked out from. */
export interface View {
  book: FactBook
  things: Things
  melt: Melt
  castings: Castings
  asOf: Ms
}

export interface Followed {
  /** Slots of the metal ledger that hold nothing but it. */
  seeds: number[]
  /** By seed, how much of what it holds counts, such as one element; absent, all of it. */
  worth?: Map<number, Worth>
  /** Cells of the metal ledger whose whole bath counts as it, as when a heat is followed. */
  flood: number[]
  /** Unrecorded metal of this moment or later could be it; undefined when none could. Unit: ms. */
  gapsFrom: Ms | undefined
  /** Slots of the metal ledger that may be all of it, since a report of where it was put may be missing. */
  perhaps: number[]
  /** A report about it cannot be read: from this moment on nothing is clear of it. Unit: ms. */
  openFrom: Ms
  /** Slots of the castings ledger that it touched, and those where it cannot be told. */
  touched: Set<number>
  perhapsTouched: Set<number>
  /** Earliest moment at which it could be in anything. Unit: ms. */
  begins: Ms
  /** Role of the followed lots, where they have one. */
  roles: Set<Role>
}

/** A machine, line or furnace for a while, until not included. */
export interface MachineWindow {
  plant: string
  machine: string
  from: Ms
  until: Ms
}

// A lot of which less than this part is unaccounted for is taken as used up; weighing is no better.
const USED_UP = 0.01

export function nothingFollowed(): Followed {
  return {
    seeds: [],
    flood: [],
    gapsFrom: undefined,
    perhaps: [],
    openFrom: Number.POSITIVE_INFINITY,
    touched: new Set(),
    perhapsTouched: new Set(),
    begins: Number.POSITIVE_INFINITY,
    roles: new Set(),
  }
}

export function followThing(view: View, into: Followed, no: number): void {
  switch (view.things.kind(no)) {
    case 'lot':
      followLot(view, into, no)
      break
    case 'charge':
    case 'pour':
      followSlot(view, into, no)
      break
    case 'heat':
    case 'ladle':
      followBath(view, into, no)
      break
    case 'furnace':
      for (const heat of heatsOf(view, no).keys()) followBath(view, into, heat)
      break
    case 'bin':
      followBin(view, into, no)
      break
    case 'sand':
      touchSand(view, into, no)
      break
    case 'molds':
      for (const unit of view.castings.unitsOfMolds(no)) touch(into, unit.slot, firstAt(view, no))
      break
    default:
      for (const held of view.castings.slotsOf(no)) touch(into, held.slot, firstAt(view, no))
  }
}

/**
 * Everything that went through a machine, furnace or line in a stretch of time; false where no report names
 * one so.
 */
export function followMachine(view: View, into: Followed, window: MachineWindow): boolean {
  const { castings, things } = view
  const { plant, machine, from, until } = window
  const through = castings.through(machine, from, until)
  const line = things.numberOf(plant, `line:${machine}`)
  const furnace = things.numberOf(plant, `furnace:${machine}`)
  if (!through && line === undefined && furnace === undefined) return false
  // Also when no report brings anything there: what came from nowhere since may have.
  into.begins = Math.min(into.begins, from)
  for (const slot of through?.surely ?? []) touch(into, slot, from)
  for (const slot of through?.perhaps ?? []) followSlotOfCastings(into, slot, from, true)
  if (line !== undefined) {
    for (const unit of castings.unitsOnLine(line, from, until)) touch(into, unit.slot, from)
    for (const pour of castings.pours())
      if (pour.line === undefined && pour.from < until && pour.at >= from)
        for (const unit of castings.unitsOf(pour.no))
          followSlotOfCastings(into, unit.slot, from, true)
  }
  if (furnace === undefined) return true
  for (const [heat, held] of heatsOf(view, furnace))
    if (held.from < until && held.until >= from) followBath(view, into, heat)
  return true
}

function followLot(view: View, into: Followed, lot: number): void {
  const { book, asOf } = view
  const received = book.of(lot, 'lot-received', asOf)[0]
  if (received) into.roles.add(received.fact.role)
  into.begins = Math.min(into.begins, received?.fact.at ?? firstAt(view, lot))
  if (received?.fact.role === 'metallic' || isMetal(view, lot)) {
    const slots = [view.melt.ownOf(lot), view.melt.slotOf(lot)]
    into.seeds.push(...slots.filter((slot) => slot !== undefined))
    const from = couldBeFrom(view, lot)
    if (from !== undefined) {
      into.gapsFrom = Math.min(into.gapsFrom ?? from, from)
      into.perhaps.push(...perhapsDrawn(view, lot, from))
    }
  }
  for (const by of book.other(lot, 'touched', asOf)) touchThing(view, into, by.fact.of, by)
  for (const bin of binsOf(view, lot)) {
    for (const by of book.other(bin.no, 'touched', asOf)) {
      if (by.fact.at >= bin.from && by.fact.at < bin.until) touchThing(view, into, by.fact.of, by)
    }
  }
}

/** Whether any of a lot went where mass travels; of one that never did, only what it touched counts. */
function isMetal(view: View, no: number, through: readonly number[] = []): boolean {
  const { book, asOf } = view
  if (INTO_METAL.some((what) => book.other(no, what, asOf).length > 0)) return true
  return binsOf(view, no).some(
    (bin) => !through.includes(bin.no) && isMetal(view, bin.no, [...through, no]),
  )
}

const INTO_METAL = [
  'charge-line',
  'heat-added',
  'ladle-added',
  'pour-added',
  'metal-moved',
  'returned-from',
] as const

/**
 * From when on metal of no known origin could be this lot: while some of it is unaccounted for, or once
 * metal that may hold it was lost sight of.
 */
function couldBeFrom(view: View, lot: number): Ms | undefined {
  const { book, asOf } = view
  const received = book.of(lot, 'lot-received', asOf)
  const collected = book.of(lot, 'returns-collected', asOf)
  if (received.length === 0 && collected.length === 0) return Number.NEGATIVE_INFINITY
  let had = 0
  for (const noted of [...received, ...collected])
    had += noted.fact.amount ?? Number.POSITIVE_INFINITY
  let used = 0
  for (const what of ['charge-line', 'heat-added', 'ladle-added', 'pour-added'] as const) {
    for (const line of book.other(lot, what, asOf)) used += line.fact.amount ?? 0
  }
  const since = Math.min(...[...received, ...collected].map((noted) => noted.fact.at))
  return had - used > USED_UP * had ? since : lostSightFrom(view, since)
}

/** What was drawn, once it could be the lot, from bins that others of its material were put into. */
function perhapsDrawn(view: View, lot: number, from: Ms): number[] {
  const { book, things, melt, asOf } = view
  const received = book.of(lot, 'lot-received', asOf)[0]
  if (!received || binsOf(view, lot).length > 0) return []
  const slots: number[] = []
  for (const bin of binsByMaterial(view).get(materialOf(things, received)) ?? []) {
    for (const line of book.other(bin, 'charge-line', asOf)) {
      const slot = line.fact.at >= from - CLOCKS ? melt.takenOf(line) : undefined
      if (slot !== undefined) slots.push(slot)
    }
  }
  return slots
}

const bins = new WeakMap<View, Map<string, Set<number>>>()

function binsByMaterial(view: View): Map<string, Set<number>> {
  let found = bins.get(view)
  if (!found) {
    found = new Map()
    for (const received of view.book.all('lot-received', view.asOf)) {
      const material = materialOf(view.things, received)
      for (const { no } of binsOf(view, received.fact.of)) {
        const known = found.get(material)
        if (known) known.add(no)
        else found.set(material, new Set([no]))
      }
    }
    bins.set(view, found)
  }
  return found
}

/** What a lot is received as, with its plant in front. */
export function materialOf(
  things: Things,
  { fact }: Noted<FactOf<'lot-received', number>>,
): string {
  return `${things.plant(fact.of)} ${fact.material}`
}

/** Bins the lot was put into, each from then until it is next said to be empty. */
export function binsOf(view: View, lot: number): { no: number; from: Ms; until: Ms }[] {
  const { book, asOf } = view
  const put: { no: number; from: Ms }[] = []
  for (const fill of book.other(lot, 'bin-filled', asOf))
    put.push({ no: fill.fact.of, from: fill.fact.at })
  for (const receipt of book.of(lot, 'lot-received', asOf)) {
    if (receipt.fact.via !== undefined) put.push({ no: receipt.fact.via, from: receipt.fact.at })
  }
  return put.map((bin) => {
    const empty = book
      .of(bin.no, 'vessel-set', asOf)
      .find((s) => s.fact.amount === 0 && s.fact.at > bin.from)
    return { ...bin, until: empty?.fact.at ?? Number.POSITIVE_INFINITY }
  })
}

function followSlot(view: View, into: Followed, no: number): void {
  const slots =
    view.things.kind(no) === 'pour'
      ? view.melt.pourParts(no, view.asOf).map((part) => part.slot)
      : [view.melt.slotOf(no)].filter((slot) => slot !== undefined)
  into.seeds.push(...slots)
  beginAt(into, firstAt(view, no))
}

function followBath(view: View, into: Followed, no: number): void {
  into.flood.push(...view.melt.cellsOf(no))
  beginAt(into, firstAt(view, no))
}

function followBin(view: View, into: Followed, bin: number): void {
  const { book, asOf } = view
  for (const what of ['charge-line', 'heat-added', 'ladle-added', 'pour-added'] as const) {
    for (const line of book.other(bin, what, asOf)) {
      const slot = view.melt.takenOf(line)
      if (slot !== undefined) into.seeds.push(slot)
      beginAt(into, line.fact.at)
    }
  }
  for (const by of book.other(bin, 'touched', asOf)) touchThing(view, into, by.fact.of, by)
}

/** Metal of unknown origin could have been it from the moment it existed. */
function beginAt(into: Followed, at: Ms): void {
  into.begins = Math.min(into.begins, at)
  into.gapsFrom = Math.min(into.gapsFrom ?? at, at)
}

function touchThing(view: View, into: Followed, no: number, by: Noted): void {
  const { castings, things } = view
  into.begins = Math.min(into.begins, by.fact.at)
  switch (things.kind(no)) {
    case 'sand':
      touchSand(view, into, no)
      break
    case 'molds':
      for (const unit of castings.unitsOfMolds(no)) touch(into, unit.slot, by.fact.at)
      break
    case 'pour':
      for (const unit of castings.unitsOf(no)) touch(into, unit.slot, by.fact.at)
      break
    case 'ladle':
      for (const poured of view.book.other(no, 'poured', view.asOf)) {
        for (const unit of castings.unitsOf(poured.fact.of)) touch(into, unit.slot, by.fact.at)
      }
      break
    default: {
      const slots =
        by.fact.what === 'touched' && by.fact.step
          ? castings.slotsTouched(by)
          : castings.slotsOf(no)
      for (const held of slots) touch(into, held.slot, by.fact.at)
    }
  }
}

/** A sand batch is in its molds; through return sand it may be in any batch mulled after them. */
function touchSand(view: View, into: Followed, sand: number): void {
  const { book, castings, asOf } = view
  const mulled = firstAt(view, sand)
  into.begins = Math.min(into.begins, mulled)
  for (const molds of book.other(sand, 'molds-made', asOf)) {
    for (const unit of castings.unitsOfMolds(molds.fact.of)) into.touched.add(unit.slot)
  }
  for (const later of castings.sands()) {
    if (later === sand) continue
    const batch = book.of(later, 'sand-mulled', asOf)[0]
    if (batch && (batch.fact.at <= mulled || batch.fact.returnGrams === 0)) continue
    for (const molds of book.other(later, 'molds-made', asOf)) {
      for (const unit of castings.unitsOfMolds(molds.fact.of)) into.perhapsTouched.add(unit.slot)
    }
  }
}

/** Castings of a slot of the castings ledger, touched from a moment on; `perhaps`: it cannot be told. */
export function followSlotOfCastings(into: Followed, slot: number, at: Ms, perhaps = false): void {
  const slots = perhaps ? into.perhapsTouched : into.touched
  slots.add(slot)
  into.begins = Math.min(into.begins, at)
}

function touch(into: Followed, slot: number, at: Ms): void {
  into.touched.add(slot)
  into.begins = Math.min(into.begins, at)
}

/** Heats of a furnace by report or by a tap that names both, each with when its metal may have been in there. */
function heatsOf(view: View, furnace: number): Map<number, { from: Ms; until: Ms }> {
  const { book, asOf } = view
  const heats = new Map<number, { from: Ms; until: Ms }>()
  for (const { fact } of book.via(furnace, 'heat-begun', asOf)) {
    const until = fact.until ?? fact.at
    heats.set(fact.of, { from: firstAt(view, fact.of), until })
  }
  // Nobody said when such a heat was begun: at the earliest when another was last tapped.
  let tapped: { heat: number; at: Ms } | undefined
  let before = Number.NEGATIVE_INFINITY
  for (const { fact } of book.via(furnace, 'ladle-tapped', asOf)) {
    const { other: heat, at } = fact
    if (tapped && tapped.heat !== heat) before = tapped.at
    tapped = { heat, at }
    const known = heats.get(heat)
    if (known) known.until = Math.max(known.until, at)
    else heats.set(heat, { from: before, until: at })
  }
  return heats
}

/** When the first fact about a thing took effect; the end of time when there is none. */
export function firstAt(view: View, no: number): Ms {
  return view.book.firstAt(no, view.asOf) ?? Number.POSITIVE_INFINITY
}
