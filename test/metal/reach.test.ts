import { describe, expect, it } from 'vitest'
import type { Fact, Role } from '../../services/events/fact.ts'
import { Castings } from '../../services/metal/castings.ts'
import { NOW } from '../../services/metal/fact-book.ts'
import {
  type Followed,
  followMachine,
  followThing,
  nothingFollowed,
  type View,
} from '../../services/metal/followed.ts'
import { Melt } from '../../services/metal/melt.ts'
import { Reach, type Threshold } from '../../services/metal/reach.ts'
import { materialsOf, usualShare } from '../../services/metal/usual-share.ts'
import { HandRecord } from './record.ts'

const KG = 1000
const MINUTE = 60_000

/** A small shop: one furnace known to be empty, one line, one pattern with one cavity. */
const SHOP: Fact[][] = [
  [{ what: 'furnace-emptied', of: 'furnace:F1', at: 0, amount: 0, reason: 'relined' }],
  [
    {
      what: 'pattern-mounted',
      of: 'line:L1',
      at: 0,
      pattern: 'P',
      cavities: [{ cavity: 'A', product: 'pan', castingGrams: 2000 }],
    },
  ],
  [
    {
      what: 'molds-made',
      of: 'molds:M1',
      via: 'line:L1',
      pattern: 'P',
      first: 1,
      last: 100,
      from: 0,
      at: MINUTE,
    },
  ],
]

const lot = (name: string, kg: number, role: Role = 'metallic'): Fact[] => [
  { what: 'lot-received', of: `lot:${name}`, at: 0, amount: kg * KG, role, material: 'iron' },
]

/** A heat of one charge, tapped into one ladle, poured into ten molds. */
const heat = (n: number, lines: [lot: string, kg: number][]): Fact[][] => {
  const at = n * 60 * MINUTE
  const kg = lines.reduce((sum, [, each]) => sum + each, 0)
  return [
    lines.map(([of, each]) => ({
      what: 'charge-line',
      of: `charge:C${n}`,
      other: `lot:${of}`,
      amount: each * KG,
      at,
    })),
    [
      { what: 'heat-begun', of: `heat:H${n}`, via: 'furnace:F1', at },
      { what: 'heat-charged', of: `heat:H${n}`, other: `charge:C${n}`, via: 'furnace:F1', at },
    ],
    [
      {
        what: 'ladle-tapped',
        of: `ladle:L${n}`,
        other: `heat:H${n}`,
        via: 'furnace:F1',
        amount: kg * KG,
        heel: 0,
        at: at + 10 * MINUTE,
      },
    ],
    pour(n, `ladle:L${n}`, kg),
  ]
}

const pour = (n: number, from: string | undefined, kg: number): Fact[] => [
  {
    what: 'poured',
    of: `pour:P${n}`,
    ...(from === undefined ? {} : { other: from }),
    via: 'line:L1',
    first: 10 * n - 9,
    last: 10 * n,
    amount: kg * KG,
    from: (60 * n + 11) * MINUTE,
    at: (60 * n + 20) * MINUTE,
  },
]

const load = (name: string, from: string, castings: number, n: number): Fact[] => {
  const begun = (60 * n + 40) * MINUTE
  const place = { step: 'shake-out' as const, pass: 1, from: begun, at: begun + 5 * MINUTE }
  return [
    { what: 'load-handled', of: `load:${name}`, amount: castings, ...place },
    { what: 'load-source', of: `load:${name}`, other: from, amount: castings, ...place },
  ]
}

/** The whole of a lot of 100 kg, with another. */
const ALL_OF_A: [lot: string, kg: number][] = [
  ['A', 100],
  ['B', 400],
]

type Follow = (view: View, into: Followed) => void

function reachOf(
  statements: Fact[][],
  from: string | Follow,
): { reach: Reach; record: HandRecord } {
  const record = new HandRecord()
  const castings = new Castings(record)
  const melt = new Melt(record.book, record, castings)
  const changes = statements.flatMap((facts) => record.say(facts))
  castings.apply(changes.map(({ noted }) => noted.fact))
  melt.apply(changes)
  const view = { book: record.book, things: record, melt, castings, asOf: NOW }
  const followed = nothingFollowed()
  if (typeof from === 'string') followThing(view, followed, record.no(from))
  else from(view, followed)
  return { reach: new Reach(view, followed), record }
}

function standings(
  statements: Fact[][],
  from: string | Follow,
  threshold: Threshold,
): Record<string, string> {
  const { reach, record } = reachOf(statements, from)
  const found: Record<string, string> = {}
  for (const { node, standing } of reach.scope(threshold).nodes) {
    if (node.castings > 0) found[record.name(node.thing)] = standing
  }
  return found
}

describe('A reach', () => {
  it('calls certain what carries the share, and clear what was poured before and is wholly reported', () => {
    const statements = [
      ...SHOP,
      lot('A', 100),
      lot('B', 1000),
      ...heat(1, [['B', 500]]),
      ...heat(2, [
        ['A', 100],
        ['B', 400],
      ]),
    ]
    expect(standings(statements, 'lot:A', { share: 0.01 })).toEqual({
      'pour:P1': 'clear',
      'pour:P2': 'certain',
    })
  })

  it('never clears castings of a pour that others name and nobody reported', () => {
    const statements = [
      ...SHOP,
      lot('A', 1000),
      lot('B', 1000),
      ...heat(1, [
        ['A', 100],
        ['B', 400],
      ]),
      load('S9', 'pour:P9', 10, 3),
    ]
    expect(standings(statements, 'lot:A', { share: 0.01 })['load:S9']).toBe('unknown')
  })

  it('never clears a pour of which no report says what it was filled from', () => {
    const statements = [
      ...SHOP,
      lot('A', 1000),
      lot('B', 1000),
      ...heat(1, [
        ['A', 100],
        ['B', 400],
      ]),
      pour(2, undefined, 500),
    ]
    expect(standings(statements, 'lot:A', { share: 0.01 })['pour:P2']).toBe('unknown')
  })

  describe('tells chances of what nobody reported', () => {
    const chances = (statements: Fact[][]) => {
      const { reach, record } = reachOf(statements, 'lot:A')
      const { nodes } = reach.scope({ share: 0.01 })
      return new Map(nodes.map((one) => [record.name(one.node.thing), one]))
    }
    const first = [
      ...SHOP,
      lot('A', 1000),
      lot('B', 5000),
      ...heat(1, [
        ['A', 100],
        ['B', 400],
      ]),
    ]

    it('as of metal like what was poured before, or like what was poured after', () => {
      const unknown = [...first, pour(2, undefined, 500)]
      const alike = heat(3, [
        ['A', 100],
        ['B', 400],
      ])
      expect(chances([...unknown, ...alike]).get('pour:P2')!.chance).toBeCloseTo(1, 6)
      const other = chances([...unknown, ...heat(3, [['B', 500]])]).get('pour:P2')!
      expect(other.chance).toBeCloseTo(0.5, 6)
      expect([other.low, other.high, other.standing]).toEqual([0, 1, 'unknown'])
    })

    it('as of castings like the others of their pile', () => {
      const [handled, source] = load('S1', 'pour:P1', 10, 1) as [Fact, Fact]
      const known = { ...source, product: 'pan', cavity: 'A' } as Fact
      const unknown = { ...known, other: 'load:S0' } as Fact
      const { reach } = reachOf(
        [...first, [{ ...handled, amount: 20 } as Fact, known, unknown]],
        'lot:A',
      )
      const [pile] = reach.scope({ share: 0.01 }).nodes
      // Half of them are of a load nobody reported.
      expect(pile).toMatchObject({ low: 0.5, chance: 1, high: 1, standing: 'possible', open: true })
    })

    it('as of what was shipped before and after, where nobody told what it is', () => {
      const shipped = (pack: string, minute: number, castings = 10): Fact => ({
        what: 'shipped',
        of: `shipment:${pack}`,
        other: `pack:${pack}`,
        at: (120 + minute) * MINUTE,
        amount: castings,
        customer: 'C1',
      })
      const packed = (pack: string, other: string): Fact[] => {
        const line = { of: `pack:${pack}`, at: 120 * MINUTE, line: 1, product: 'pan', amount: 10 }
        return [
          { what: 'pack-line', ...line },
          { what: 'pack-source', ...line, other },
        ]
      }
      const told = [
        ...first,
        load('S1', 'pour:P1', 10, 1),
        packed('K1', 'load:S1'),
        [shipped('K1', 1)],
        [shipped('K2', 2)],
      ]
      expect(chances(told).get('pack:K2')).toMatchObject({ standing: 'unknown', chance: 1 })
    })
  })

  it('clears metal of unknown origin only of a lot that is used up', () => {
    const gap = [
      ...SHOP,
      lot('A', 100),
      lot('B', 1000),
      ...heat(1, [
        ['A', 100],
        ['B', 400],
      ]),
      pour(2, undefined, 500),
    ]
    expect(standings(gap, 'lot:A', { share: 0.01 })['pour:P2']).toBe('clear')
    expect(standings(gap, 'lot:B', { share: 0.01 })['pour:P2']).toBe('unknown')
  })

  it.each<[string, Fact[][]]>([
    ['was tapped and never poured', heat(1, ALL_OF_A).slice(0, 3)],
    ['was weighed and never melted', heat(1, ALL_OF_A).slice(0, 1)],
    [
      'may be in returns of which nobody said what they are',
      [...heat(1, ALL_OF_A), ...heat(3, [['RG-1', 500]])],
    ],
    [
      'may have gone with a charge nobody weighed',
      [...heat(1, ALL_OF_A), ...heat(3, [['B', 100]]).slice(1)],
    ],
    [
      'may have been poured from a ladle nobody filled',
      [...heat(1, ALL_OF_A), pour(3, 'ladle:L3', 100)],
    ],
  ])('clears no metal of unknown origin of a used-up lot that %s', (_, told) => {
    const statements = [...SHOP, lot('A', 100), lot('B', 1000), ...told, pour(5, undefined, 500)]
    expect(standings(statements, 'lot:A', { share: 0.01 })['pour:P5']).toBe('unknown')
  })

  it('clears no pour itself that came from a ladle nobody filled, whatever was added to it', () => {
    const added: Fact = {
      what: 'pour-added',
      of: 'pour:P3',
      other: 'lot:I',
      amount: 100,
      at: 200 * MINUTE,
    }
    const statements = [
      ...SHOP,
      lot('A', 100),
      lot('B', 1000),
      lot('I', 20, 'inoculant'),
      ...heat(1, ALL_OF_A),
      pour(3, 'ladle:L3', 100),
      [added],
    ]
    expect(standings(statements, 'lot:A', { share: 0.01 })['pour:P3']).toBe('unknown')
  })

  it('takes in the upper end what nobody reported and could be it', () => {
    const unweighed = heat(1, [['B', 500]]).slice(1)
    const { reach } = reachOf([...SHOP, lot('A', 1000), lot('B', 1000), ...unweighed], 'lot:A')
    const [{ best, low, high }] = reach.pours as [(typeof reach.pours)[0]]
    expect([best, low, high]).toEqual([0, 0, 1])
  })

  it('takes a number left out among the taps of a heat for a tap as large as the others', () => {
    const tap = (n: number): Fact => ({
      what: 'ladle-tapped',
      of: `ladle:T${n}`,
      other: 'heat:H1',
      via: 'furnace:F1',
      amount: 100 * KG,
      heel: 0,
      tap: n,
      at: (70 + n) * MINUTE,
    })
    const melted = heat(1, [['A', 500]]).slice(0, 2)
    const told = [...SHOP, lot('A', 500), lot('B', 500), ...melted, ...heat(2, [['B', 500]])]
    const share = (taps: Fact[][]) => reachOf([...told, ...taps], 'lot:A').reach.pours[0]!.best
    // What 500 kg less the taps are of that and 500 kg more.
    expect(share([[tap(1)], [tap(2)], [tap(3)]])).toBeCloseTo(200 / 700, 6)
    expect(share([[tap(1)], [tap(3)]])).toBeCloseTo(200 / 700, 6)
    expect(share([[tap(1)], [tap(2)]])).toBeCloseTo(300 / 800, 6)
  })

  it('never clears what was drawn from a bin that holds such lots, of one nobody said where it was put', () => {
    const shred = (name: string): Fact => ({
      what: 'lot-received',
      of: `lot:${name}`,
      at: 0,
      amount: 1000 * KG,
      role: 'metallic',
      material: 'shred',
    })
    const drawn = heat(1, [['B', 400]])
    drawn[0]!.push({
      what: 'charge-line',
      of: 'charge:C1',
      other: 'bin:B1',
      amount: 100 * KG,
      at: 60 * MINUTE,
    })
    const told: Fact[][] = [
      ...SHOP,
      lot('B', 1000),
      [shred('S1')],
      [shred('S2')],
      [{ what: 'vessel-set', of: 'bin:B1', at: 0, amount: 0, reason: 'cleaned' }],
      [{ what: 'bin-filled', of: 'bin:B1', other: 'lot:S1', amount: 1000 * KG, at: MINUTE }],
      ...drawn,
    ]
    expect(standings(told, 'lot:S2', { share: 0.01 })['pour:P1']).toBe('unknown')
    const lies: Fact = {
      what: 'bin-filled',
      of: 'bin:B2',
      other: 'lot:S2',
      amount: 1000 * KG,
      at: MINUTE,
    }
    expect(standings([...told, [lies]], 'lot:S2', { share: 0.01 })['pour:P1']).toBe('clear')
  })

  it('tells how likely a bay gave of a lot by how the yard uses lots that lie apart', () => {
    const shred = (name: string): Fact => ({
      what: 'lot-received',
      of: `lot:${name}`,
      at: 0,
      amount: 1000 * KG,
      role: 'metallic',
      material: 'shred',
    })
    const fill = (name: string, at: number): Fact => ({
      what: 'bin-filled',
      of: 'bin:B1',
      other: `lot:${name}`,
      amount: 1000 * KG,
      at,
    })
    const drawn = heat(1, [['B', 400]])
    drawn[0]!.push({
      what: 'charge-line',
      of: 'charge:C1',
      other: 'bin:B1',
      amount: 100 * KG,
      at: 60 * MINUTE,
    })
    const bay: Fact[][] = [
      ...SHOP,
      [shred('S1'), shred('S2')],
      [{ what: 'vessel-set', of: 'bin:B1', at: 0, amount: 0, reason: 'cleaned' }],
      [fill('S1', MINUTE), fill('S2', 2 * MINUTE)],
    ]
    const chance = (told: Fact[][], of: string) => {
      const { nodes } = reachOf([...told, ...drawn], of).reach.scope({ share: 0.01 })
      expect(nodes.map(({ standing }) => standing)).toEqual(['possible'])
      return nodes[0]!.chance
    }
    // Taken first in first out it is all S1, last in first out all S2, and mixed half of each.
    const one = [...bay, lot('B', 1000)]
    expect(chance(one, 'lot:S1')).toBeCloseTo(2 / 3, 4)
    expect(chance(one, 'lot:S2')).toBeCloseTo(2 / 3, 4)
    // B was begun while a newer lot waited: first in first out was seen once, and each as if once before.
    const newer: Fact = { ...lot('N', 1000)[0]!, at: MINUTE } as Fact
    const kept = [...one, [newer]]
    const less = (1 / 4) * (1 / 3) + (3 / 4) * (1 / 4)
    expect(chance(kept, 'lot:S1')).toBeCloseTo(1 - less, 4)
    expect(chance(kept, 'lot:S2')).toBeCloseTo(2 * less, 4)
  })

  it('never clears what lies within the error of weighing below the share', () => {
    const statements = [
      ...SHOP,
      lot('A', 1000),
      lot('B', 1000),
      ...heat(1, [
        ['A', 4.75],
        ['B', 495.25],
      ]),
    ]
    // A share of 0.95 %, each weight good to 1 % and each yield to 2 %: 0.0095 × exp(4 × 0.03) = 0.0107.
    expect(standings(statements, 'lot:A', { share: 0.01 })['pour:P1']).toBe('possible')
    expect(standings(statements, 'lot:A', { share: 0.012 })['pour:P1']).toBe('clear')
  })

  it('takes a clock gone wild without losing the rest', () => {
    const wild = heat(2, [
      ['A', 100],
      ['B', 400],
    ]).map((facts) => facts.map((fact) => ({ ...fact, at: -1e14 })))
    const statements = [
      ...SHOP,
      lot('A', 1000),
      lot('B', 1000),
      ...heat(1, [
        ['A', 100],
        ['B', 400],
      ]),
      ...wild,
    ]
    expect(standings(statements, 'lot:A', { share: 0.01 })['pour:P1']).toBe('certain')
  })
})

describe('A reach from a furnace for a while', () => {
  const lots = [lot('A', 100), lot('B', 1000)]
  const during = (from: number, until: number): Follow => {
    const window = { plant: 'works', machine: 'F1', from: from * MINUTE, until: until * MINUTE }
    return (view, into) => followMachine(view, into, window)
  }
  const touched = (statements: Fact[][], from: number, until: number) =>
    standings(statements, during(from, until), { touched: true })

  it('takes in a heat begun before and tapped meanwhile', () => {
    const statements = [...SHOP, ...lots, ...heat(1, ALL_OF_A)]
    expect(touched(statements, 65, 75)).toEqual({ 'pour:P1': 'certain' })
    expect(touched(statements, 80, 90)).toEqual({ 'pour:P1': 'clear' })
  })

  it('takes in a heat of which only its tap was reported', () => {
    const [charged, , ...tapped] = heat(1, ALL_OF_A)
    const statements = [...SHOP, ...lots, charged!, ...tapped]
    expect(touched(statements, 65, 75)['pour:P1']).not.toBe('clear')
    expect(touched(statements, 0, 65)['pour:P1']).not.toBe('clear')
    expect(touched(statements, 71, 90)).toEqual({ 'pour:P1': 'clear' })
  })
})

describe('What metal usually has of an addition', () => {
  /** Into the ladle of a heat of 500 kg. Unit: kg. */
  const treated = (n: number, of: string, kg: number): Fact[] => [
    {
      ...{ what: 'ladle-added', of: `ladle:L${n}`, other: of, amount: kg * KG },
      ...{ at: (60 * n + 5) * MINUTE, purpose: 'inoculate' },
    },
  ]
  const received = (name: string, material: string): Fact[] => [
    {
      ...{ what: 'lot-received', of: `lot:${name}`, at: 0, amount: 100 * KG },
      ...{ role: 'inoculant', material },
    },
  ]
  const shares = (...statements: Fact[][]) => {
    const heats = [1, 2, 3, 4].flatMap((n) => heat(n, [['B', 500]]))
    const { reach, record } = reachOf(
      [...SHOP, lot('B', 5000), received('I1', 'silicon'), ...heats, ...statements],
      'lot:I1',
    )
    const [material] = materialsOf(reach.view, [record.no('lot:I1')])
    return usualShare(reach.view, material!)
  }

  it('is the middle over all lots of the material, by mass, where a report says that it was given', () => {
    const { share, pours } = shares(
      received('I2', 'silicon'),
      received('I3', 'strontium'),
      treated(1, 'lot:I1', 1),
      treated(2, 'lot:I2', 2),
      treated(3, 'lot:I1', 9),
      treated(4, 'lot:I3', 5),
    )
    expect(pours).toBe(3)
    expect(share).toBeCloseTo(2 / 502, 9)
  })

  it('counts what came by a bin, and is nothing where none was given', () => {
    const put: Fact[] = [
      {
        ...{ what: 'lot-received', of: 'lot:I2', at: 0, amount: 100 * KG, via: 'bin:hopper' },
        ...{ role: 'inoculant', material: 'silicon' },
      },
    ]
    expect(shares()).toEqual({ share: 0, pours: 0 })
    const { share, pours } = shares(put, treated(1, 'bin:hopper', 1))
    expect(pours).toBe(1)
    expect(share).toBeCloseTo(1 / 501, 9)
  })
})
