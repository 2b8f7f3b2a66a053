import { describe, expect, it } from 'vitest'
import type { Fact } from '../../services/events/fact.ts'
import { NOW } from '../../services/metal/fact-book.ts'
import { ordersOf } from '../../services/metal/habit.ts'
import { HandRecord } from './record.ts'

const received = (lot: string, at: number, material = 'bundles'): Fact => ({
  what: 'lot-received',
  of: `lot:${lot}`,
  at,
  amount: 1000,
  role: 'metallic',
  material,
})

const charged = (lot: string, at: number): Fact => ({
  what: 'charge-line',
  of: `charge:C${at}`,
  other: `lot:${lot}`,
  amount: 100,
  at,
})

function orders(...facts: Fact[]) {
  const record = new HandRecord()
  record.say(facts)
  return ordersOf({ book: record.book, things: record, asOf: NOW }, 'works')
}

describe('The order in which a yard uses what it has', () => {
  const three = [received('A', 1), received('B', 2), received('C', 3)]

  it('is any, where no lot was begun while others waited', () => {
    const any = orders(received('A', 1), charged('A', 2), received('B', 3), charged('B', 4))
    for (const chance of Object.values(any)) expect(chance).toBeCloseTo(1 / 3, 9)
    // Of another material, or put into a bin: neither could have been taken in its place.
    const others = orders(
      received('A', 2),
      received('B', 1, 'pigs'),
      received('C', 1),
      { what: 'bin-filled', of: 'bin:B1', other: 'lot:C', amount: 1000, at: 2 },
      charged('A', 3),
    )
    for (const chance of Object.values(others)) expect(chance).toBeCloseTo(1 / 3, 9)
  })

  it('is as it is with lots that lie apart, as far as a bay is kept like them', () => {
    // A with B and C waiting, B with C; C alone tells nothing. Each order as if seen once: 3, 1 and 1 of 5.
    const kept = orders(...three, charged('A', 4), charged('B', 5), charged('C', 6))
    expect(kept.first).toBeCloseTo((1 / 4) * (1 / 3) + (3 / 4) * (3 / 5), 9)
    expect(kept.mixed).toBeCloseTo((1 / 4) * (1 / 3) + (3 / 4) * (1 / 5), 9)
    expect(kept.last).toBeCloseTo(kept.mixed, 9)
    const newest = orders(...three, charged('C', 4), charged('B', 5), charged('A', 6))
    expect(newest.last).toBeCloseTo(kept.first, 9)
    const between = orders(...three, charged('B', 4))
    expect(between.mixed).toBeCloseTo((1 / 4) * (1 / 3) + (3 / 4) * (2 / 4), 9)
    expect(between.first + between.mixed + between.last).toBeCloseTo(1, 9)
  })

  it('takes a lot as begun when it was first charged, whenever that was reported', () => {
    const late = orders(charged('B', 5), charged('A', 9), charged('A', 4), ...three)
    // A with B and C waiting, then B with C.
    expect(late.first).toBeCloseTo((1 / 4) * (1 / 3) + (3 / 4) * (3 / 5), 9)
  })
})
