import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { UNRECORDED } from '../../services/metal/ledger/writing.ts'
import { runs } from '../runs.ts'
import { acting, byClock, denseShares } from './dense.ts'
import {
  anyArrivals,
  arrivals,
  type Built,
  build,
  bySlot,
  type Plant,
  type PlantOp,
  plants,
} from './plants.ts'

const RUNS = runs(2000)
const CLOSE = 1e-12

const plain = plants({ circles: false, versions: false, doubt: false })
const doubtful = plants({ circles: false, versions: false, doubt: true })
const anything = plants({ circles: true, versions: true, doubt: true, layers: true })
const singles = plants({ circles: true, versions: false, doubt: true })
const corrected = plants({ circles: false, versions: true, doubt: true })

const sourcesOf = (plant: Plant) => Array.from({ length: 1 + plant.leaves }, (_, source) => source)
const follow = (plant: Plant, built: Built, source: number, how = {}) =>
  bySlot(plant, built, built.ledger.forward([[built.slot(source), 1]], how))
const fingerprint = (plant: Plant, built: Built, how = {}) =>
  JSON.stringify([
    ...sourcesOf(plant).map((source) => follow(plant, built, source, how)),
    follow(plant, built, 1, { ...how, lean: 'low' }),
    follow(plant, built, 1, { ...how, lean: 'high' }),
    bySlot(plant, built, built.ledger.forward([], { ...how, gaps: { from: 300_000 } })),
    spreads(plant, built, how),
  ])
const spreads = (plant: Plant, built: Built, how = {}) => {
  const spanOf = built.ledger.follow([built.slot(1)], { ...how, doubt: true })
  return Array.from({ length: plant.slots }, (_, slot) => spanOf(built.slot(slot)).spread)
}
const shares = (plant: Plant, built: Built) =>
  JSON.stringify(sourcesOf(plant).map((source) => follow(plant, built, source)))
const weights = fc.array(fc.tuple(fc.nat(1000), fc.double({ min: 0, max: 5, noNaN: true })), {
  minLength: 1,
  maxLength: 6,
})

describe('the shares of a plant', () => {
  it('are those of the linear equations solved all at once', () => {
    fc.assert(
      fc.property(plain, (plant) => {
        const built = build(plant)
        const dense = denseShares(plant)
        for (const source of sourcesOf(plant)) {
          const shares = follow(plant, built, source)
          for (const [slot, share] of shares.entries()) {
            expect(Math.abs(share - dense[slot]![source]!)).toBeLessThanOrEqual(CLOSE)
          }
        }
      }),
      RUNS,
    )
  })

  it('sum to 1 with what is unrecorded, circles of clocks included', () => {
    fc.assert(
      fc.property(anything, fc.option(fc.nat(12), { nil: undefined }), (plant, asOf) => {
        const built = build(plant)
        const how = asOf === undefined ? {} : { asOf }
        const all = sourcesOf(plant).map((source) => follow(plant, built, source, how))
        for (let slot = 0; slot < plant.slots; slot++) {
          const sum = all.reduce((total, shares) => total + shares[slot]!, 0)
          expect(Math.abs(sum - 1)).toBeLessThanOrEqual(CLOSE)
        }
      }),
      RUNS,
    )
  })

  it('come out the same forward and backward: the sweeps are transposes', () => {
    fc.assert(
      fc.property(anything, weights, weights, (plant, seeds, asked) => {
        const built = build(plant)
        const s = seeds.map(([k, value]): [number, number] => [k % (1 + plant.leaves), value])
        const sources = new Map(s)
        const wanted = asked.map(([k, weight]): [number, number] => [k % plant.slots, weight])
        const f = built.ledger.forward([...sources].map(([k, v]) => [built.slot(k), v]))
        const { rest, unrecorded } = built.ledger.backward(
          wanted.map(([slot, weight]) => [built.slot(slot), weight]),
        )
        let forward = 0
        let total = 0
        for (const [slot, weight] of wanted) {
          forward += weight * f[built.slot(slot)]!
          total += weight
        }
        let backward = 0
        for (const [slot, value] of sources) backward += value * rest[built.slot(slot)]!
        expect(Math.abs(forward - backward)).toBeLessThanOrEqual(CLOSE * (1 + total))
        expect(rest[UNRECORDED]).toBe(unrecorded)
        const kept = rest.reduce((sum, weight) => sum + weight, 0)
        expect(Math.abs(kept - total)).toBeLessThanOrEqual(CLOSE * (1 + total))
      }),
      RUNS,
    )
  })

  it('pass a slot backward with just the weight that forcing it forward would move', () => {
    fc.assert(
      fc.property(doubtful, fc.nat(1000), weights, (plant, pick, asked) => {
        const built = build(plant)
        const through = 1 + plant.leaves + (pick % (plant.slots - plant.leaves - 1))
        const wanted = asked.map(([k, weight]): [number, number] => [k % plant.slots, weight])
        const f = built.ledger.forward([], { force: [[built.slot(through), 1]] })
        const back = built.ledger.backward(wanted.map(([k, weight]) => [built.slot(k), weight]))
        let forward = 0
        let total = 0
        for (const [slot, weight] of wanted) {
          forward += weight * f[built.slot(slot)]!
          total += weight
        }
        const left = back.through[built.slot(through)]!
        // What nobody wrote passes nothing on: it is unrecorded right away.
        if (isWritten(plant, through)) {
          expect(Math.abs(forward - left)).toBeLessThanOrEqual(CLOSE * (1 + total))
        }
      }),
      RUNS,
    )
  })
})

describe('the order of a plant', () => {
  it('gives the same answers to the last bit whichever way the versions came in', () => {
    const cases = anything.chain((plant) => fc.tuple(fc.constant(plant), anyArrivals(plant)))
    fc.assert(
      fc.property(cases, ([plant, order]) => {
        const one = build(plant, order)
        const other = build(plant)
        expect(fingerprint(plant, one)).toBe(fingerprint(plant, other))
        const late = (built: Built) => {
          const cells = plant.cells.map((_, cell) => cell)
          const found = new Set(built.ledger.circles())
          return cells.filter((cell) => found.has(built.cell(cell)))
        }
        expect(late(one)).toEqual(late(other))
      }),
      runs(4000),
    )
  })

  it('gives those answers without circles too, where it is kept up step by step', () => {
    const cases = corrected.chain((plant) => fc.tuple(fc.constant(plant), anyArrivals(plant)))
    fc.assert(
      fc.property(cases, fc.nat(12), ([plant, order], asOf) => {
        const [one, other] = [build(plant, order), build(plant)]
        expect(fingerprint(plant, one)).toBe(fingerprint(plant, other))
        expect(fingerprint(plant, one, { asOf })).toBe(fingerprint(plant, other, { asOf }))
      }),
      runs(4000),
    )
  })

  it('gives after each version what sorting all that came gives', () => {
    const few = plants({ circles: true, versions: true, doubt: false }, 5)
    const cases = few.chain((plant) => fc.tuple(fc.constant(plant), anyArrivals(plant)))
    fc.assert(
      fc.property(cases, ([plant, order]) => {
        const prints: string[] = []
        const grown = build(plant, order, (built) => prints.push(shares(plant, built)))
        prints.push(shares(plant, grown))
        for (const [came, print] of prints.entries()) {
          expect(print).toBe(shares(plant, build(plant, order.slice(0, came))))
        }
      }),
      runs(4000),
    )
  })

  it('shows as of a moment what a ledger of the versions up to then shows', () => {
    const cases = anything.chain((plant) => fc.tuple(fc.constant(plant), anyArrivals(plant)))
    fc.assert(
      fc.property(cases, fc.nat(12), ([plant, order], asOf) => {
        const then = build(
          plant,
          arrivals(plant).filter(
            ({ cell, version }) => plant.cells[cell]!.versions[version]!.since <= asOf,
          ),
        )
        const now = build(plant, order)
        expect(fingerprint(plant, now, { asOf })).toBe(fingerprint(plant, then))
        expect(now.ledger.circles(asOf).length).toBe(then.ledger.circles().length)
      }),
      runs(4000),
    )
  })
})

describe('low and high', () => {
  it('enclose what every choice of what was kept and what was there gives, and the best', () => {
    const part = fc.oneof(
      fc.constantFrom(0, 1),
      fc.nat(1000).map((n) => n / 1000),
    )
    const choices = fc.array(part, { minLength: 8, maxLength: 8 })
    fc.assert(
      fc.property(doubtful, fc.array(choices, { minLength: 4, maxLength: 4 }), (plant, tried) => {
        const built = build(plant)
        for (const source of [UNRECORDED, 1, 2]) {
          const low = follow(plant, built, source, { lean: 'low' })
          const high = follow(plant, built, source, { lean: 'high' })
          const best = follow(plant, built, source)
          const all = [best, ...tried.map((chosen) => simulated(plant, source, chosen))]
          for (const shares of all) {
            for (const [slot, share] of shares.entries()) {
              expect(share).toBeGreaterThanOrEqual(low[slot]! - CLOSE)
              expect(share).toBeLessThanOrEqual(high[slot]! + CLOSE)
            }
          }
        }
      }),
      RUNS,
    )
  })

  it('are the best where nothing is in doubt', () => {
    fc.assert(
      fc.property(plain.map(withoutGauges), (plant) => {
        const built = build(plant)
        for (const source of sourcesOf(plant)) {
          const best = follow(plant, built, source)
          for (const lean of ['low', 'high']) {
            for (const [slot, share] of follow(plant, built, source, { lean }).entries()) {
              expect(Math.abs(share - best[slot]!)).toBeLessThanOrEqual(CLOSE)
            }
          }
        }
      }),
      RUNS,
    )
  })

  it('come out the same in one walk as one by one, late arrivals and what was followed before included', () => {
    const cases = anything.chain((plant) =>
      fc.tuple(
        fc.constant(plant),
        anyArrivals(plant),
        fc.option(fc.nat(12), { nil: undefined }),
        fc.option(fc.nat(12), { nil: undefined }),
        fc.nat(1000),
        fc.boolean(),
      ),
    )
    fc.assert(
      fc.property(cases, ([plant, arrived, asOf, minute, pick, floods]) => {
        const seeds = [1, 1 + (pick % (plant.slots - 1))]
        const built = build(plant, arrived, ({ ledger, slot }) => ledger.follow(seeds.map(slot)))
        const { ledger, slot, cell } = built
        const slots = seeds.map(slot)
        const flood = floods ? [cell(pick % plant.cells.length)] : []
        const gaps = minute === undefined ? undefined : { from: 60_000 * minute }
        const then = asOf === undefined ? {} : { asOf }
        const force = slots.map((s): [number, number] => [s, 1])
        const none = slots.map((s): [number, number] => [s, 0])
        const one = (lean: 'best' | 'low' | 'high') =>
          ledger.forward([], { ...then, force, flood, lean })
        const [best, low, high] = [one('best'), one('low'), one('high')]
        const gap = gaps && ledger.forward([], { ...then, gaps, force: none, lean: 'high' })
        const spanOf = ledger.follow(slots, { ...then, flood, gapsFrom: gaps?.from })
        for (let s = 0; s < best.length; s++) {
          const span = spanOf(s)
          expect(Math.abs(span.best - best[s]!)).toBeLessThanOrEqual(CLOSE)
          expect(Math.abs(span.low - low[s]!)).toBeLessThanOrEqual(CLOSE)
          expect(Math.abs(span.high - high[s]!)).toBeLessThanOrEqual(CLOSE)
          expect(Math.abs(span.gap - (gap?.[s] ?? 0))).toBeLessThanOrEqual(CLOSE)
        }
      }),
      RUNS,
    )
  })

  it('find the most that is unrecorded where gaps are followed high', () => {
    fc.assert(
      fc.property(doubtful, fc.nat(12), (plant, minute) => {
        const { ledger } = build(plant)
        const gaps = { from: 60_000 * minute }
        const best = ledger.forward([], { gaps })
        const high = ledger.forward([], { gaps, lean: 'high' })
        const all = ledger.forward([[UNRECORDED, 1]], { lean: 'high' })
        for (const [slot, share] of high.entries()) {
          expect(best[slot]).toBeLessThanOrEqual(share + CLOSE)
          expect(share).toBeLessThanOrEqual(all[slot]! + CLOSE)
        }
      }),
      RUNS,
    )
  })
})

describe('a change to one cell', () => {
  it('changes nothing that does not descend from it', () => {
    fc.assert(
      fc.property(singles, singles, fc.nat(1000), (plant, other, pick) => {
        const changed = pick % plant.cells.length
        const ops = other.cells[0]!.versions[0]!.ops.filter(
          (op) => !('slot' in op) || op.slot < plant.slots,
        )
        const cells = plant.cells.with(changed, {
          ...plant.cells[changed]!,
          versions: [{ since: 1, ops }],
        })
        const after = { ...plant, cells }
        const touched = descendants(plant, after, changed)
        const [one, two] = [build(plant), build(after)]
        for (const source of sourcesOf(plant)) {
          const now = follow(plant, two, source)
          for (const [slot, share] of follow(plant, one, source).entries()) {
            if (!touched.has(slot)) expect(now[slot]).toBe(share)
          }
        }
      }),
      runs(4000),
    )
  })
})

// Slots a change can reach: written by the cell or by any that depends on it, before or after.
function descendants(before: Plant, after: Plant, changed: number): Set<number> {
  const opsOf = (cell: number) =>
    [before, after].flatMap((plant) => plant.cells[cell]!.versions.flatMap(({ ops }) => ops))
  const reached = new Set([changed])
  const slots = new Set<number>()
  for (let size = -1; size !== reached.size + slots.size; ) {
    size = reached.size + slots.size
    for (const cell of reached) {
      for (const op of opsOf(cell)) if (op.op === 'out') slots.add(op.slot)
    }
    for (const [cell, { vessel }] of before.cells.entries()) {
      const inVessel = [...reached].some(
        (from) =>
          vessel >= 0 &&
          before.cells[from]!.vessel === vessel &&
          byClock(before.cells[from]!, before.cells[cell]!) < 0,
      )
      const meets = opsOf(cell).some((op) => 'slot' in op && slots.has(op.slot))
      if (inVessel || meets) reached.add(cell)
    }
  }
  return slots
}

// The plant run through op by op with each KEEP and UNKNOWN chosen, in the order it was made up in.
function simulated(plant: Plant, source: number, chosen: number[]): number[] {
  const shares: number[] = Array.from({ length: plant.slots }, (_, slot) =>
    slot === source || (source === UNRECORDED && slot > plant.leaves) ? 1 : 0,
  )
  const u = source === UNRECORDED ? 1 : 0
  const vessels = new Map<number, { A: number; M: number }>()
  let doubts = 0
  const choice = () => chosen[doubts++ % chosen.length]!
  for (const cell of plant.cells) {
    const ops = acting(cell)
    if (ops.length === 0) continue
    const first = cell.vessel < 0 || !vessels.has(cell.vessel)
    let { A, M } = vessels.get(cell.vessel) ?? { A: 0, M: 0 }
    if (cell.vessel < 0) [A, M] = [0, 0]
    for (const op of ops) {
      if (op.op === 'in') {
        A += op.amount * shares[op.slot]!
        M += op.amount
      } else if (op.op === 'out') {
        const short = Math.max(0, op.amount - M)
        const gap = 20 * short > op.amount ? short : 0
        shares[op.slot] = (A + gap * u) / (M + gap)
        A = M > op.amount ? A * (1 - op.amount / M) : 0
        M = Math.max(0, M - op.amount)
      } else if (op.op === 'set') {
        const surplus = op.amount - M
        if (surplus > 0 && (M === 0 || surplus > op.tolerance)) A += surplus * u
        else A = M > 0 ? (A * op.amount) / M : 0
        M = op.amount
      } else if (op.op === 'keep') {
        const kept = choice()
        A *= kept
        M *= kept
      } else if (op.op === 'unknown') {
        const there = first ? op.amount * choice() : 0
        A += there * u
        M += there
      } else [A, M] = [0, 0]
    }
    if (cell.vessel >= 0) vessels.set(cell.vessel, { A, M })
  }
  return shares
}

/** Vessels only ever measured to be empty: what is over the book leaves open what it is. */
function withoutGauges(plant: Plant): Plant {
  const emptied = (op: PlantOp): PlantOp => (op.op === 'set' ? { ...op, amount: 0 } : op)
  const cells = plant.cells.map((cell) => ({
    ...cell,
    versions: cell.versions.map((one) => ({ ...one, ops: one.ops.map(emptied) })),
  }))
  return { ...plant, cells }
}

function isWritten(plant: Plant, slot: number): boolean {
  return plant.cells.some(({ versions }) => {
    const now = versions.reduce((a, b) => (a.since > b.since ? a : b))
    return now.ops.some((op) => op.op === 'out' && op.slot === slot)
  })
}
