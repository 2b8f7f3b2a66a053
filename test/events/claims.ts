import fc from 'fast-check'
import type { Claim } from '../../services/events/claim.ts'
import type { Conflict } from '../../services/events/merge.ts'

// Claims that get in each other's way: few keys, few slots, few moments, so that duplicates, reused
// ids, chains, circles, rivals, voids and overlapping loads all happen in a handful of claims. What
// the hash covers depends on nothing but the hash, as with real statements; `rank` does not.

export const PLANT = 'north'
export const sourceOf = (machine: string, plant = PLANT) =>
  `https://foundry.example/plant/${plant}/melt/${machine}`

type Loose<T> = { [K in keyof T]?: T[K] | undefined }

/** A claim with all that a test does not care about filled in; its hash follows from the content. */
export function claim(given: Loose<Claim>): Claim {
  const { about = 'melt.heat-tapped ladle:L1', void: voids = false } = given
  const { joins, slot, from, until } = given
  const content = { about, void: voids, ...present({ joins, slot, from, until }) }
  return {
    plant: PLANT,
    source: sourceOf('f1'),
    id: '1',
    recorded: 0,
    rank: 1,
    hash: hashOf(content),
    ...content,
    ...present(given),
  } as Claim
}

const moment = fc.nat(9)
const machine = fc.constantFrom('f1', 'f2')
// The last two sort one way as UTF-16 and the other as UTF-8.
const id = fc.constantFrom('1', '2', '3', '4', 'ﬁ', '😀')
const key = fc.record({ source: machine.map((name) => sourceOf(name)), id })

const place = fc.oneof(
  { weight: 3, arbitrary: fc.constant({}) },
  { weight: 3, arbitrary: fc.record({ slot: fc.constantFrom('heat 7 ladle 1', 'load X') }) },
  {
    weight: 4,
    arbitrary: fc
      .record({ from: moment, minutes: fc.nat(3) })
      .map(({ from, minutes }) => ({ slot: 'load X', from, until: from + minutes })),
  },
  { weight: 1, arbitrary: fc.record({ slot: fc.constant('load X'), until: moment }) },
)

const content = fc
  .record({
    about: fc.constantFrom('one', 'one', 'other'),
    joins: fc.option(key, { nil: undefined }),
    void: fc.nat(7).map((n) => n === 0),
    place,
  })
  .map(({ place, ...rest }) => ({ ...rest, ...place }))

const said = fc.record({ recorded: moment, rank: fc.constantFrom<0 | 1 | 2>(0, 1, 2) })

/** One claim of the crowded plant. */
export const anyClaim: fc.Arbitrary<Claim> = fc
  .tuple(key, content, said)
  .map(([key, content, said]) => claim({ ...key, ...content, ...said }))

/** Up to `most` claims, some of them said again as they were or under a key that is taken. */
export function anyClaims(most = 12): fc.Arbitrary<Claim[]> {
  const again = fc.tuple(fc.nat(), said)
  return fc
    .array(fc.oneof({ weight: 5, arbitrary: anyClaim }, { weight: 1, arbitrary: again }), {
      maxLength: most,
      size: '+1',
    })
    .map((steps) => {
      const claims: Claim[] = []
      for (const step of steps) {
        if (!Array.isArray(step)) claims.push(step)
        else if (claims.length > 0) claims.push({ ...claims[step[0] % claims.length]!, ...step[1] })
      }
      return claims
    })
}

/** A claim in one line, and of many the lines in order: equal where nothing tells them apart. */
export const print = ({ plant, source, id, hash, recorded, rank }: Claim): string =>
  [plant, source, id, hash, `recorded ${recorded}`, `rank ${rank}`].join(' ')

export const printAll = (claims: Iterable<Claim>): string[] => [...claims].map(print).sort()

export const printConflicts = (conflicts: Iterable<Conflict>): string[] =>
  [...conflicts]
    .map(({ sort, claims, winner }) =>
      [sort, ...claims.map(print), winner ? `winner ${print(winner)}` : 'no winner'].join('\n'),
    )
    .sort()

/** Stands for SHA-256: follows from the content, and its order from nothing. */
function hashOf(content: object): string {
  let hash = 0x811c9dc5
  for (const letter of JSON.stringify(content)) {
    hash = Math.imul(hash ^ letter.codePointAt(0)!, 0x01000193) >>> 0
  }
  return hash.toString(16).padStart(8, '0')
}

function present<T extends object>(given: T): Partial<T> {
  return Object.fromEntries(
    Object.entries(given).filter(([, value]) => value !== undefined),
  ) as Partial<T>
}
