import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { UNRECORDED } from '../../services/metal/ledger.ts'
import { acting, byClock, denseShares } from './dense.ts'
import {
  anyArrivals,
  arrivals,
  build,
  bySlot,
  type Built,
  type Plant,
  type PlantOp,
  plants,
} from './plants.ts'

const RUNS = { numRuns: 2000 }
const CLOSE = 1e-12

const plain = plants({ circles: false, versions: false, doubt: false })
const doubtful = plants({ circles: false, versions: false, doubt: true })
const anything = plants({ circles: true, versions: true, doubt: true })
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
  ])
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
      fc.property(anything, fc.nat(1000), weights, (plant, pick, asked) => {
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
      { numRuns: 4000 },
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
      { numRuns: 4000 },
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
      { numRuns: 4000 },
    )
  })
})

function isWritten(plant: Plant, slot: number): boolean {
  return plant.cells.some(({ versions }) => {
    const now = versions.reduce((a, b) => (a.since > b.since ? a : b))
    return now.ops.some((op) => op.op === 'out' && op.slot === slot)
  })
}
