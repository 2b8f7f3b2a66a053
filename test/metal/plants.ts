// Small random plants for the laws of the ledger, said in numbers of their own so that cells and slots
// can come into a ledger in any order and under any number.

import fc from 'fast-check'
import {
  keep,
  layered,
  type Ops,
  open,
  set,
  UNRECORDED,
  unknown,
} from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'

/** Slot 0 is unrecorded, then come the leaves, then the slots of each cell. */
export interface Plant {
  vessels: number
  leaves: number
  slots: number
  cells: PlantCell[]
}

export interface PlantCell {
  /** -1 for none: then mixing starts fresh. */
  vessel: number
  /** Unit: ms. */
  at: number
  tie: number
  /** In any order; one since each moment. */
  versions: { since: number; ops: PlantOp[] }[]
}

export type PlantOp =
  | { op: 'in' | 'out'; slot: number; amount: number }
  | { op: 'set'; amount: number; tolerance: number }
  | { op: 'keep' }
  | { op: 'unknown'; amount: number }
  | { op: 'fresh' }
  | { op: 'layered'; turnover: number }

export interface Shape {
  /** Whether a cell reads only what earlier cells write, and vessels follow that order. */
  circles: boolean
  /** Whether cells have several versions, some empty, and write one another's slots. */
  versions: boolean
  /** Whether there is KEEP and UNKNOWN. */
  doubt: boolean
  /** Whether in some vessels nothing mixes. */
  layers?: boolean
}

const LEAVES = 4
const SLOTS = 3

/** A random plant of this shape; amounts are small whole numbers so that vessels are overdrawn often. */
export function plants(shape: Shape, most = 12): fc.Arbitrary<Plant> {
  const op = fc.record({
    sort: fc.constantFrom(...sorts(shape)),
    pick: fc.nat(1000),
    amount: fc.integer({ min: 1, max: 60 }),
    tolerance: fc.constantFrom(0, 0, 3, 40),
  })
  const version = fc.record({
    since: fc.integer({ min: 1, max: 12 }),
    ops: fc.array(op, { minLength: shape.versions ? 0 : 1, maxLength: 7 }),
    fresh: fc.constantFrom(false, false, false, true),
  })
  const cell = fc.record({
    vessel: fc.integer({ min: -1, max: 2 }),
    minute: fc.nat(12),
    versions: fc.array(version, { minLength: 1, maxLength: shape.versions ? 3 : 1 }),
  })
  const skew = fc.tuple(fc.nat(8), fc.nat(8), fc.nat(8), fc.nat(8))
  return fc
    .tuple(fc.array(cell, { minLength: 1, maxLength: most }), skew)
    .map(([drawn, clocks]) => ({
      vessels: 3,
      leaves: LEAVES,
      slots: 1 + LEAVES + SLOTS * drawn.length,
      cells: drawn.map((raw, place): PlantCell => {
        const minute = shape.circles ? raw.minute : clocks[raw.vessel + 1]! + (place >> 1)
        const seen = new Set<number>()
        return {
          vessel: raw.vessel,
          at: 60_000 * minute,
          tie: place,
          versions: raw.versions
            .filter(({ since }) => !seen.has(since) && seen.add(since))
            .map(({ since, ops, fresh }) => ({
              since,
              ops: [
                ...(fresh && raw.vessel >= 0 ? [{ op: 'fresh' } as const] : []),
                ...ops.map((o) => {
                  const readable = shape.circles ? drawn.length : place
                  const owner = shape.versions && o.pick % 7 === 0 ? o.pick % drawn.length : place
                  return plantOp(o, readable, owner)
                }),
              ],
            })),
        }
      }),
    }))
}

interface Drawn {
  sort: Sort
  pick: number
  amount: number
  tolerance: number
}

// An op that reads slots of the first `readable` cells or writes one of the owner's.
function plantOp(
  { sort, pick, amount, tolerance }: Drawn,
  readable: number,
  owner: number,
): PlantOp {
  switch (sort) {
    case 'leaf':
      return { op: 'in', slot: pick % (LEAVES + 1), amount }
    case 'in': {
      const among = SLOTS * readable
      return { op: 'in', slot: among === 0 ? UNRECORDED : 1 + LEAVES + (pick % among), amount }
    }
    case 'out':
      return { op: 'out', slot: 1 + LEAVES + SLOTS * owner + (pick % SLOTS), amount }
    case 'set':
      return { op: 'set', amount: pick % 4 === 0 ? 0 : amount, tolerance }
    case 'keep':
      return { op: 'keep' }
    case 'unknown':
      return { op: 'unknown', amount }
    case 'layered':
      return { op: 'layered', turnover: pick % 3 }
  }
}

type Sort = 'leaf' | 'in' | 'out' | 'set' | 'keep' | 'unknown' | 'layered'

function sorts(shape: Shape): Sort[] {
  const doubt: Sort[] = shape.doubt ? ['keep', 'keep', 'unknown'] : []
  const layers: Sort[] = shape.layers ? ['layered', 'layered'] : []
  return ['leaf', 'leaf', 'in', 'in', 'out', 'out', 'out', 'set', ...doubt, ...layers]
}

export interface Built {
  ledger: Ledger
  /** Ledger's slot of a plant's slot. */
  slot(plantSlot: number): number
  cell(plantCell: number): number
  vessel(plantVessel: number): number
}

/** One version of one cell coming in; `ask` first asks the ledger something, so that it is in order. */
export interface Arrival {
  cell: number
  version: number
  ask: boolean
}

/** Every version once, in the order told. */
export function arrivals(plant: Plant): Arrival[] {
  return plant.cells.flatMap(({ versions }, cell) =>
    versions.map((_, version) => ({ cell, version, ask: false })),
  )
}

/** Some order of arrival, with questions in between. */
export function anyArrivals(plant: Plant): fc.Arbitrary<Arrival[]> {
  const all = arrivals(plant)
  return fc
    .tuple(
      fc.shuffledSubarray(all, { minLength: all.length }),
      fc.array(fc.boolean(), { minLength: all.length, maxLength: all.length }),
    )
    .map(([order, asks]) => order.map((arrival, k) => ({ ...arrival, ask: asks[k]! })))
}

/**
 * A ledger of a plant whose versions came in this order; slots, vessels, cells are numbered by it.
 * `look` sees it before each of them.
 */
export function build(
  plant: Plant,
  order: Arrival[] = arrivals(plant),
  look?: (built: Built) => void,
): Built {
  const ledger = new Ledger()
  const slots = new Map<number, number>([[UNRECORDED, UNRECORDED]])
  const vessels = new Map<number, number>()
  const cells = new Map<number, number>()
  const slot = (s: number) =>
    numbered(slots, s, () => (s <= plant.leaves ? ledger.leaf() : ledger.slot()))
  const vessel = (v: number) => numbered(vessels, v, () => ledger.vessel())
  const cell = (c: number) =>
    numbered(cells, c, () => {
      const { at, tie, vessel: v } = plant.cells[c]!
      return ledger.cell(v < 0 ? { at, tie } : { at, tie, vessel: vessel(v) })
    })
  const numberSlots = () => {
    for (let s = 0; s < plant.slots; s++) slot(s)
  }
  const built: Built = { ledger, slot, cell, vessel }
  for (const arrival of order) {
    if (look) {
      numberSlots()
      look(built)
    }
    if (arrival.ask) ledger.circles()
    const { since, ops } = plant.cells[arrival.cell]!.versions[arrival.version]!
    const written: Ops = []
    const v = plant.cells[arrival.cell]!.vessel
    if (v >= 0 && ops.length > 0 && ops[0]!.op !== 'fresh') written.push(...open(vessel(v)))
    for (const op of ops) written.push(...said(op, slot))
    ledger.write(cell(arrival.cell), since, written)
  }
  numberSlots()
  for (let v = 0; v < plant.vessels; v++) vessel(v)
  return built
}

/** Shares by plant's slot. */
export function bySlot(plant: Plant, built: Built, shares: Float64Array): number[] {
  return Array.from({ length: plant.slots }, (_, s) => shares[built.slot(s)]!)
}

function said(op: PlantOp, slot: (s: number) => number): Ops {
  switch (op.op) {
    case 'in':
      return [slot(op.slot), op.amount]
    case 'out':
      return [slot(op.slot), -op.amount]
    case 'set':
      return set(op.amount, op.tolerance)
    case 'keep':
      return keep()
    case 'unknown':
      return unknown(op.amount)
    case 'layered':
      return layered(op.turnover)
    case 'fresh':
      return []
  }
}

function numbered(map: Map<number, number>, key: number, make: () => number): number {
  const known = map.get(key)
  if (known !== undefined) return known
  const made = make()
  map.set(key, made)
  return made
}
