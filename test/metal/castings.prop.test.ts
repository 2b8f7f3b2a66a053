import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Fact } from '../../services/events/fact.ts'
import type { CastingsNode } from '../../services/metal/castings/places.ts'
import { UNRECORDED } from '../../services/metal/ledger/writing.ts'
import { runs } from '../runs.ts'
import { statements } from './days.ts'
import { HandRecord } from './record.ts'
import { Shop } from './shop.ts'

const RUNS = runs(2000)

/** Everything that can be asked of a shop, in words that do not depend on slots. */
function answers(shop: Shop): string[] {
  const { castings } = shop
  const lines: string[] = []
  for (const node of castings.nodes())
    lines.push(`${placed(shop, node)} ${makeup(shop, [[node.slot, node.castings]])}`)
  for (const unit of castings.units())
    lines.push(`unit ${unit.pour} ${unit.product} ${unit.cavity} ${unit.castings}`)
  for (const { sort, about, castings: n } of castings.gaps())
    lines.push(`gap ${sort} ${about} ${n?.toFixed(3)}`)
  for (const { load, step, pass, from, slots } of castings.handlings()) {
    lines.push(`handling ${load} ${step} ${pass} ${from} ${slots.length}`)
  }
  return lines.sort()
}

function placed(shop: Shop, node: CastingsNode): string {
  const { place, thing, product, cavity, castings, at, step, fate, customer, shipment } = node
  return [
    place,
    shop.record.name(thing),
    product,
    cavity,
    castings.toFixed(3),
    at,
    step,
    fate,
    customer,
    shipment,
  ].join(' ')
}

/** Where castings come from, by pour and piece. */
function makeup(shop: Shop, weights: [number, number][]): string {
  const { rest } = shop.castings.ledger.backward(weights)
  const parts = [`? ${rest[UNRECORDED]!.toFixed(6)}`]
  for (const { slot, pour, product, cavity } of shop.castings.units()) {
    if (rest[slot]! > 1e-9) parts.push(`${pour} ${product} ${cavity} ${rest[slot]!.toFixed(6)}`)
  }
  return parts.sort().join(', ')
}

const numbering = (facts: Fact[][]) => {
  const record = new HandRecord()
  for (const fact of facts.flat()) record.numbered(fact)
  return record
}

describe('castings', () => {
  it('are conserved: what was made and what came from nowhere is at its places, by product', () => {
    fc.assert(
      fc.property(statements, (said) => {
        const shop = new Shop(said.flat())
        const balances = shop.castings.balance()
        let [into, places] = [0, 0]
        for (const { made, unrecorded, ...there } of balances.values()) {
          const all = Object.values(there).reduce((sum, n) => sum + n, 0)
          // Castings nobody could name may be told to be of a product later on.
          if (!balances.has('')) expect(all).toBeCloseTo(made + unrecorded, 6)
          into += made + unrecorded
          places += all
        }
        expect(places).toBeCloseTo(into, 6)
        for (const node of shop.castings.nodes()) expect(node.castings).toBeGreaterThan(0)
      }),
      RUNS,
    )
  })

  it('of every pour and piece, and those of nowhere, are all somewhere: none vanishes, none is made up', () => {
    fc.assert(
      fc.property(statements, (said) => {
        const { castings } = new Shop(said.flat())
        const nodes = [...castings.nodes()]
        const there = (seeds: [number, number][]) => {
          const share = castings.ledger.forward(seeds)
          return nodes.reduce((sum, node) => sum + node.castings * share[node.slot]!, 0)
        }
        for (const unit of castings.units())
          expect(there([[unit.slot, 1]])).toBeCloseTo(unit.castings, 6)
        const unrecorded = [...castings.balance().values()].reduce(
          (sum, one) => sum + one.unrecorded,
          0,
        )
        expect(there([[UNRECORDED, 1]])).toBeCloseTo(unrecorded, 6)
      }),
      RUNS,
    )
  })

  it('come out the same in whatever order and batches they are told, and after things taken back', () => {
    fc.assert(
      fc.property(
        statements.chain((said) =>
          fc.tuple(
            fc.constant(said),
            fc.shuffledSubarray(said, { minLength: said.length }),
            statements,
            fc.integer({ min: 1, max: 8 }),
          ),
        ),
        ([said, shuffled, noise, batch]) => {
          const record = numbering([...said, ...noise])
          const whole = new Shop(said.flat(), record)
          const bits = new Shop([], record)
          for (let i = 0; i < shuffled.length; i += batch) {
            bits.say([...shuffled.slice(i, i + batch).flat(), ...(noise[i] ?? [])])
            if (noise[i]) bits.say([], noise[i])
          }
          expect(answers(bits)).toEqual(answers(whole))
        },
      ),
      RUNS,
    )
  })

  it('come out the same told one by one as worked out anew after every statement', () => {
    fc.assert(
      fc.property(statements, (said) => {
        const record = numbering(said)
        const growing = new Shop([], record)
        for (const [i, facts] of said.entries()) {
          growing.say(facts)
          expect(answers(growing)).toEqual(answers(new Shop(said.slice(0, i + 1).flat(), record)))
        }
      }),
      { numRuns: 300 },
    )
  })

  it('back from a thing and forward from a pour are transposes', () => {
    fc.assert(
      fc.property(statements, (said) => {
        const { castings } = new Shop(said.flat())
        const nodes = [...castings.nodes()]
        const back = nodes.map(({ slot }) => castings.ledger.backward([[slot, 1]]).rest)
        for (const unit of castings.units()) {
          const forward = castings.ledger.forward([[unit.slot, 1]])
          for (const [i, { slot }] of nodes.entries()) {
            expect(back[i]![unit.slot]).toBeCloseTo(forward[slot]!, 12)
          }
        }
      }),
      { numRuns: 500 },
    )
  })

  it('thrown back weigh by the pours they are of, and by no more', () => {
    fc.assert(
      fc.property(statements, (said) => {
        const { castings, record } = new Shop(said.flat())
        for (const name of ['load:1', 'load:2', 'tote:1', 'pack:1', 'pack:2']) {
          const weights = castings.massWeights(record.no(name))
          const total = weights.reduce((sum, weight) => sum + weight.castings, 0)
          const shares = castings
            .metalOf(record.no(name))
            .reduce((sum, { share }) => sum + share, 0)
          expect(shares).toBeLessThanOrEqual(1 + 1e-9)
          const unknown = weights.find(({ pour }) => pour === undefined)?.castings ?? 0
          if (total > 0 && unknown === 0) expect(shares).toBeCloseTo(1, 9)
        }
      }),
      { numRuns: 500 },
    )
  })
})
