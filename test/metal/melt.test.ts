import { describe, expect, it } from 'vitest'
import type { Fact } from '../../services/events/fact.ts'
import type { Changed, Melt } from '../../services/metal/melt.ts'
import { HandRecord } from './record.ts'

const KG = 1000

const lot = (name: string, kg: number, at = 0): Fact => ({
  what: 'lot-received',
  of: `lot:${name}`,
  at,
  amount: kg * KG,
  role: 'metallic',
  material: 'pig iron',
})

const line = (charge: string, of: string, kg: number, at: number): Fact => ({
  what: 'charge-line',
  of: `charge:${charge}`,
  other: of,
  amount: kg * KG,
  at,
})

const heat = (name: string, charge: string, at: number): Fact[] => [
  { what: 'heat-begun', of: `heat:${name}`, via: 'furnace:F1', at },
  { what: 'heat-charged', of: `heat:${name}`, other: `charge:${charge}`, via: 'furnace:F1', at },
]

const tap = (ladle: string, from: string, kg: number, at: number, more: object = {}): Fact => ({
  what: 'ladle-tapped',
  of: `ladle:${ladle}`,
  other: `heat:${from}`,
  via: 'furnace:F1',
  amount: kg * KG,
  heel: 0,
  at,
  ...more,
})

const pour = (name: string, ladle: string, kg: number, at: number): Fact => ({
  what: 'poured',
  of: `pour:${name}`,
  other: `ladle:${ladle}`,
  via: 'line:L1',
  first: 1,
  last: 10,
  amount: kg * KG,
  from: at,
  at: at + 60_000,
})

const MINUTE = 60_000

/** Two heats on one furnace: 300 kg of the first stay as heel of the second. */
function twoHeats(): { record: HandRecord; melt: Melt; statements: Fact[][] } {
  const record = new HandRecord()
  const statements: Fact[][] = [
    [{ what: 'furnace-emptied', of: 'furnace:F1', at: 0, amount: 0, reason: 'relined' }],
    [lot('A', 5000)],
    [lot('B', 5000)],
    [lot('C', 5000)],
    [line('C1', 'lot:A', 600, 1 * MINUTE), line('C1', 'lot:B', 400, 1 * MINUTE)],
    heat('H1', 'C1', 10 * MINUTE),
    [tap('L1', 'H1', 700, 20 * MINUTE)],
    [pour('P1', 'L1', 700, 21 * MINUTE)],
    [line('C2', 'lot:C', 700, 22 * MINUTE)],
    heat('H2', 'C2', 30 * MINUTE),
    [tap('L2', 'H2', 500, 40 * MINUTE)],
    [pour('P2', 'L2', 500, 41 * MINUTE)],
  ]
  return { record, melt: record.melt(), statements }
}

function share(
  record: HandRecord,
  melt: Melt,
  lotName: string,
  pourName: string,
  asOf?: number,
): number {
  const own = melt.ownOf(record.no(`lot:${lotName}`))!
  const shares = melt.ledger.forward([[own, 1]], asOf === undefined ? {} : { asOf })
  return shares[melt.slotOf(record.no(`pour:${pourName}`))!]!
}

describe('The melt', () => {
  it('carries a heel into the next heat', () => {
    const { record, melt, statements } = twoHeats()
    melt.apply(statements.flatMap((facts) => record.say(facts)))
    // Heel 300 kg of 0.6 A and 0.4 B; with 700 kg of C: A 180/1000, B 120/1000, C 700/1000.
    expect(share(record, melt, 'A', 'P1')).toBeCloseTo(0.6, 12)
    expect(share(record, melt, 'A', 'P2')).toBeCloseTo(0.18, 12)
    expect(share(record, melt, 'B', 'P2')).toBeCloseTo(0.12, 12)
    expect(share(record, melt, 'C', 'P2')).toBeCloseTo(0.7, 12)
  })

  it('comes out the same whatever order reports arrive in, one by one or at once', () => {
    const { record, melt, statements } = twoHeats()
    const said = statements.map((facts) => record.say(facts))
    for (const changed of said.toReversed()) melt.apply(changed)
    expect(share(record, melt, 'A', 'P2')).toBeCloseTo(0.18, 12)
    expect(share(record, melt, 'C', 'P2')).toBeCloseTo(0.7, 12)
  })

  it('takes an empty furnace as empty and an unreported one as holding what nobody knows', () => {
    const { record, melt, statements } = twoHeats()
    melt.apply(statements.slice(1).flatMap((facts) => record.say(facts)))
    const p2 = melt.slotOf(record.no('pour:P2'))!
    const gaps = melt.ledger.forward([], { gaps: { from: Number.NEGATIVE_INFINITY } })
    expect(gaps[p2]).toBeGreaterThan(0.1)
    const low = melt.ledger.forward([[melt.ownOf(record.no('lot:A'))!, 1]], { lean: 'low' })
    expect(low[p2]).toBeLessThan(0.18)
  })

  it('keeps the answer of before for a corrected weight, and gives the new one now', () => {
    const { record, melt, statements } = twoHeats()
    const said = statements.map((facts) => record.say(facts))
    melt.apply(said.flat())
    const before = 1000
    // The second charge was 300 kg, not 700: heel 300 + 300, so A is 180/600.
    const wrong = said[8]![0]!.noted
    wrong.said.spans = [{ since: wrong.said.spans[0]!.since, until: before + 1 }]
    const right = record.say(
      [line('C2', 'lot:C', 300, 22 * MINUTE)],
      [{ since: before + 1, until: Number.POSITIVE_INFINITY }],
    )
    melt.apply([{ noted: wrong, from: before + 1 }, ...right])
    expect(share(record, melt, 'A', 'P2')).toBeCloseTo(0.3, 12)
    expect(share(record, melt, 'A', 'P2', before)).toBeCloseTo(0.18, 12)
  })

  it('knows what it tapped when that is turned back into the same heat', () => {
    const record = new HandRecord()
    const melt = record.melt()
    const back = (kg: number, afterTap?: number): Fact => ({
      what: 'metal-moved',
      of: 'furnace:F1',
      other: 'ladle:L1',
      via: 'heat:H1',
      amount: kg * KG,
      reason: 'return',
      at: 25 * MINUTE,
      ...(afterTap === undefined ? {} : { afterTap }),
    })
    const before: Fact[][] = [
      [{ what: 'furnace-emptied', of: 'furnace:F1', at: 0, amount: 0, reason: 'relined' }],
      [lot('A', 5000), lot('B', 5000)],
      [line('C1', 'lot:A', 600, 1 * MINUTE), line('C1', 'lot:B', 400, 1 * MINUTE)],
      heat('H1', 'C1', 10 * MINUTE),
      [tap('L1', 'H1', 500, 20 * MINUTE, { tap: 1 })],
      [tap('L2', 'H1', 700, 30 * MINUTE, { tap: 2 })],
      [pour('P2', 'L2', 700, 31 * MINUTE)],
    ]
    const wrong = record.say([back(300)])
    melt.apply([...before.flatMap((facts) => record.say(facts)), ...wrong])
    expect(share(record, melt, 'A', 'P2')).toBeCloseTo(0.6, 12)
    expect(melt.ledger.circles()).toEqual([])
    // Corrected to 100 kg and a counted tap: the bath then is 100 kg short of the second tap, of which
    // 100 / 700 nobody reported.
    wrong[0]!.noted.said.spans = [{ since: wrong[0]!.noted.said.spans[0]!.since, until: 1001 }]
    const right = record.say([back(100, 1)], [{ since: 1001, until: Number.POSITIVE_INFINITY }])
    melt.apply([{ noted: wrong[0]!.noted, from: 1001 }, ...right])
    expect(share(record, melt, 'A', 'P2')).toBeCloseTo((0.6 * 600) / 700, 12)
    expect(share(record, melt, 'A', 'P2', 1000)).toBeCloseTo(0.6, 12)
  })

  it('reads a charge nobody reported as unrecorded, never as nothing', () => {
    const { record, melt, statements } = twoHeats()
    const said = statements
      .filter((_, i) => i !== 8)
      .flatMap((facts): Changed[] => record.say(facts))
    melt.apply(said)
    const gaps = melt.ledger.forward([], { gaps: { from: 0 } })
    // 300 kg of heel and, for want of a weight, as much as was tapped: 500 of 800 kg.
    expect(gaps[melt.slotOf(record.no('pour:P2'))!]).toBeCloseTo(500 / 800, 12)
  })

  it('takes what returns weigh over the book of what went in as weighing, as long as it may be', () => {
    const unrecorded = (kg: number) => {
      const { record, melt, statements } = twoHeats()
      const returns: Fact[] = [
        { what: 'returns-collected', of: 'lot:R', at: 25 * MINUTE, amount: kg * KG, sort: 'gates' },
        {
          what: 'returned-from',
          of: 'lot:R',
          at: 25 * MINUTE,
          other: 'pour:P1',
          amount: 150 * KG,
          how: 'book',
        },
      ]
      melt.apply([...statements, returns].flatMap((facts) => record.say(facts)))
      return melt.ledger.backward([[melt.slotOf(record.no('lot:R'))!, 1]]).unrecorded
    }
    // By the book 150 ± 5.4 kg, by the scale ± 1 %: three deviations are 17 kg.
    expect(unrecorded(160)).toBe(0)
    expect(unrecorded(180)).toBeCloseTo(30 / 180, 12)
  })

  it('lets returns carry what they were made of, and names the rest unrecorded', () => {
    const { record, melt, statements } = twoHeats()
    const returns: Fact[] = [
      { what: 'returns-collected', of: 'lot:R', at: 25 * MINUTE, amount: 200 * KG, sort: 'gates' },
      { what: 'returned-from', of: 'lot:R', at: 25 * MINUTE, other: 'pour:P1', amount: 150 * KG },
    ]
    const third: Fact[][] = [
      [line('C3', 'lot:R', 200, 50 * MINUTE), line('C3', 'lot:C', 600, 50 * MINUTE)],
      [
        { what: 'heat-begun', of: 'heat:H3', via: 'furnace:F1', at: 55 * MINUTE, fromEmpty: true },
        {
          what: 'heat-charged',
          of: 'heat:H3',
          other: 'charge:C3',
          via: 'furnace:F1',
          at: 55 * MINUTE,
        },
      ],
      [tap('L3', 'H3', 600, 60 * MINUTE)],
      [pour('P3', 'L3', 600, 61 * MINUTE)],
    ]
    melt.apply([...statements, returns, ...third].flatMap((facts) => record.say(facts)))
    // Of 800 kg, 150 were P1 (0.6 A) and 50 of unknown origin.
    expect(share(record, melt, 'A', 'P3')).toBeCloseTo((150 * 0.6) / 800, 12)
    const back = melt.ledger.backward([[melt.slotOf(record.no('pour:P3'))!, 1]])
    expect(back.unrecorded).toBeCloseTo(50 / 800, 12)
  })

  it('takes what came out of a ladle beyond what was in there as weighing, where it may be', () => {
    const pigs = (poured: number, more: object = {}): number => {
      const { record, melt, statements } = twoHeats()
      const out: Fact[] = [
        { ...pour('P2', 'L2', poured, 41 * MINUTE), ...more },
        {
          what: 'metal-moved',
          of: 'lot:PG',
          other: 'ladle:L2',
          amount: 15 * KG,
          at: 45 * MINUTE,
          reason: 'pig',
        },
      ]
      melt.apply([...statements.slice(0, -1), out].flatMap((facts) => record.say(facts)))
      const shares = melt.ledger.forward([[melt.ownOf(record.no('lot:C'))!, 1]])
      return shares[melt.slotOf(record.no('lot:PG'))!]!
    }
    // The ladle is 0.7 C. 495 and 15 out of 500: within 3 × √((1 % of 500)² + (1 % of 495)² + (1 % of 15)²) = 21 kg.
    expect(pigs(495)).toBeCloseTo(0.7, 3)
    // 515 and 15 lie beyond it: the pigs came from nobody knows where.
    expect(pigs(515)).toBe(0)
    // By the book of plates, good to 3 % and off by 2 % alike, they may.
    expect(pigs(515, { how: 'book' })).toBeCloseTo(0.7, 3)
  })

  it('carries the last of an emptied ladle into its next filling, as far as that is said', () => {
    const { record, melt, statements } = twoHeats()
    const steel = { steel: 'K1' }
    const told = [
      ...statements.slice(0, -2),
      [tap('L2', 'H2', 500, 40 * MINUTE, steel)],
      [pour('P2', 'L2', 505, 41 * MINUTE)],
      [lot('D', 900)],
      [line('C3', 'lot:D', 900, 45 * MINUTE)],
      heat('H3', 'C3', 50 * MINUTE),
      [
        {
          what: 'furnace-emptied',
          of: 'furnace:F1',
          at: 44 * MINUTE,
          amount: 0,
          reason: 'drained',
        },
      ],
      [tap('L3', 'H3', 480, 55 * MINUTE, { ...steel, heel: 20 * KG })],
      [pour('P3', 'L3', 450, 56 * MINUTE)],
    ] as Fact[][]
    melt.apply(told.flatMap((facts) => record.say(facts)))
    // 20 of 500 kg are of the ladle before, 0.7 C.
    expect(share(record, melt, 'C', 'P3')).toBeCloseTo((20 * 0.7) / 500, 4)
  })

  it('takes castings thrown out of a load as of any of its pours, and at best of all alike', () => {
    const [, , , , charged, begun, tapped, poured, ...second] = twoHeats().statements
    const back: Fact[] = [
      {
        what: 'returns-collected',
        of: 'lot:R',
        at: 90 * MINUTE,
        amount: 60 * KG,
        sort: 'castings',
      },
      { what: 'returned-from', of: 'lot:R', at: 90 * MINUTE, other: 'load:S', amount: 60 * KG },
    ]
    const ends = (parts: [pour: string, kg: number][]) => {
      const record = new HandRecord()
      const all = parts.reduce((sum, [, kg]) => sum + kg, 0)
      const melt = record.melt({
        moldGrams: () => undefined,
        metalOf: () =>
          parts.map(([name, kg]) => ({
            pour: record.no(`pour:${name}`),
            share: kg / all,
            grams: kg * KG,
          })),
      })
      const { statements } = twoHeats()
      const told = [...statements.slice(0, 4), charged!, begun!, tapped!, poured!, ...second, back]
      melt.apply(told.flatMap((facts) => record.say(facts)))
      const spanOf = melt.ledger.follow([melt.ownOf(record.no('lot:A'))!], { doubt: true })
      const { low, best, high, likely } = spanOf(melt.slotOf(record.no('lot:R'))!)
      // In which order they came into the load says nothing.
      expect(likely!.orders).toBeUndefined()
      return [low, best, high].map((share) => Number(share.toFixed(6)))
    }
    // P1 holds 0.6 A and P2 0.18: a quarter of the load may be all of the first or all of the other.
    const both: [string, number][] = [
      ['P1', 120],
      ['P2', 120],
    ]
    expect(ends(both)).toEqual([0, 0.39, 0.6])
    // Of 120 kg of which 20 are P1, 60 hold at most 20 × 0.6 + 100 × 0.18 in all of 60, and at best a half of it.
    expect(
      ends([
        ['P1', 20],
        ['P2', 100],
      ]),
    ).toEqual([0, 0.25, 0.5])
    // All of a load of one pour is of that pour.
    expect(ends([['P1', 120]])).toEqual([0.6, 0.6, 0.6])
  })
})
