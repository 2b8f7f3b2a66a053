import { describe, expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import { inForce, sentence } from '../../services/events/merge.ts'
import { claim, sourceOf } from './claims.ts'

const QUALITY = sourceOf('desk').replace('/melt/', '/quality/')
const key = ({ source, id }: Claim) => ({ source, id })
const ids = (claims: Iterable<Claim>) => [...claims].map(({ id }) => id).sort()

/** What the claims come to: ids in force, and each conflict as its sort, its ids and the winner's. */
function judged(...claims: Claim[]) {
  const view = inForce(claims)
  expect(inForce(claims.toReversed())).toEqual({
    inForce: view.inForce,
    conflicts: expect.arrayContaining(view.conflicts),
  })
  const conflicts = view.conflicts.map(({ sort, claims, winner }) =>
    [sort, ...claims.map(({ id }) => id), ...(winner ? ['winner', winner.id] : [])].join(' '),
  )
  return { inForce: ids(view.inForce), conflicts: conflicts.sort() }
}

const root = claim({ id: 'root', recorded: 10 })
const correction = claim({ id: 'correction', recorded: 20, joins: key(root) })
const other = claim({ id: 'other', about: 'melt.heat-tapped ladle:L2', recorded: 30 })

describe('keys', () => {
  it('keeps of a duplicate the one recorded first, and calls it no conflict', () => {
    const [late, soon] = [claim({ recorded: 20 }), claim({ recorded: 10 })]
    expect(inForce([late, soon])).toEqual({ inForce: new Set([soon]), conflicts: [] })
    expect([...inForce([late, soon]).inForce][0]).toBe(soon)
  })

  it('believes of an id used twice the content recorded first', () => {
    const first = claim({ recorded: 10, hash: 'b' })
    const later = claim({ recorded: 11, hash: 'a', rank: 2 })
    expect(inForce([later, first])).toEqual({
      inForce: new Set([first]),
      conflicts: [{ sort: 'id-reused', claims: [first, later], winner: first }],
    })
  })

  it('believes of two contents recorded at once the one with the least hash', () => {
    const [a, b] = [claim({ hash: 'a' }), claim({ hash: 'b' })]
    expect(inForce([b, a]).inForce).toEqual(new Set([a]))
  })

  it('lets a later content under a used id neither correct nor void anything', () => {
    const first = claim({ id: '5', about: 'another thing', recorded: 11 })
    const again = claim({ id: '5', joins: key(root), void: true, recorded: 12 })
    expect(judged(root, first, again)).toEqual({
      inForce: ['5', 'root'],
      conflicts: ['id-reused 5 5 winner 5'],
    })
  })

  it('keeps the same id of two sources and of two plants apart', () => {
    const claims = [
      claim({ hash: 'a' }),
      claim({ hash: 'b', source: sourceOf('f2') }),
      claim({ hash: 'c', plant: 'south', source: sourceOf('f1', 'south') }),
    ]
    expect(inForce(claims)).toEqual({ inForce: new Set(claims), conflicts: [] })
  })
})

describe('records', () => {
  it('puts the newest of a chain of corrections in force', () => {
    const newest = claim({ id: 'newest', recorded: 5, joins: key(correction) })
    expect(judged(newest, correction, root)).toEqual({ inForce: ['newest'], conflicts: [] })
  })

  it('lets quality correct the report of any station, and a correction', () => {
    const decision = claim({ source: QUALITY, id: 'decision', joins: key(correction), rank: 0 })
    expect(judged(root, correction, decision)).toEqual({ inForce: ['decision'], conflicts: [] })
  })

  it('puts a correction in force before the report it corrects arrives', () => {
    expect(judged(correction)).toEqual({ inForce: ['correction'], conflicts: [] })
  })

  it('leaves a correction of another type or subject by itself', () => {
    const wrong = claim({ ...other, joins: key(root) })
    expect(judged(root, wrong)).toEqual({
      inForce: ['other', 'root'],
      conflicts: ['wrong-join other root'],
    })
  })

  it('leaves every wrong correction by itself, not all of them together', () => {
    const wrong = claim({ ...other, joins: key(root) })
    const again = claim({ ...wrong, id: 'again' })
    expect(judged(root, wrong, again).inForce).toEqual(['again', 'other', 'root'])
  })

  it('takes those that name a missing report for one record each type and subject', () => {
    const missing = { source: sourceOf('f1'), id: 'missing' }
    const claims = [
      claim({ id: 'a', joins: missing, recorded: 1 }),
      claim({ id: 'b', joins: missing, recorded: 2 }),
      claim({ id: 'c', joins: missing, about: other.about }),
    ]
    expect(judged(...claims)).toEqual({
      inForce: ['b', 'c'],
      conflicts: ['rival-corrections b a winner b'],
    })
  })

  it('lets a correction of an old version rival the newer one', () => {
    const stale = claim({ id: 'stale', recorded: 30, joins: key(root) })
    expect(judged(root, correction, stale)).toEqual({
      inForce: ['stale'],
      conflicts: ['rival-corrections stale correction winner stale'],
    })
  })

  it.each([
    ['machine over scan', { rank: 2, recorded: 1, id: 'a' }, { rank: 1, recorded: 9, id: 'b' }],
    ['scan over hand', { rank: 1, recorded: 1, id: 'a' }, { rank: 0, recorded: 9, id: 'b' }],
    ['the later recorded', { recorded: 9, id: 'a' }, { recorded: 8, id: 'b' }],
    ['the greater source', { source: sourceOf('f2'), id: 'a' }, { id: 'b' }],
    ['the greater id', { id: 'b' }, { id: 'a' }],
    ['the longer id', { id: 'ab' }, { id: 'a' }],
    ['the greater id as UTF-8 orders', { id: '😀' }, { id: 'ﬁ' }],
  ] as const)('believes of rivals %s', (_, strong, weak) => {
    const [winner, loser] = [strong, weak].map((given) => claim({ ...given, joins: key(root) }))
    expect(inForce([root, loser!, winner!])).toEqual({
      inForce: new Set([winner]),
      conflicts: [{ sort: 'rival-corrections', claims: [winner, loser], winner }],
    })
    expect(inForce([winner!, loser!, root]).inForce).toEqual(new Set([winner]))
  })
})

describe('circles', () => {
  const at = (id: string, to: string, given: Partial<Claim> = {}) =>
    claim({ id, joins: { source: sourceOf('f1'), id: to }, ...given })

  it('lets one of a circle stand, and names the circle by its least key', () => {
    expect(judged(at('c', 'a'), at('a', 'b'), at('b', 'c', { rank: 2 }))).toEqual({
      inForce: ['b'],
      conflicts: ['circle a b c', 'rival-corrections b c a winner b'],
    })
  })

  it('lets a report that corrects itself stand', () => {
    expect(judged(at('a', 'a'))).toEqual({ inForce: ['a'], conflicts: ['circle a'] })
  })

  it('believes the correction that hangs on a circle', () => {
    const tail = [at('d', 'c'), at('c', 'b')]
    expect(judged(at('a', 'b', { rank: 2 }), at('b', 'a'), ...tail)).toEqual({
      inForce: ['d'],
      conflicts: ['circle a b'],
    })
  })

  it('sees no circle where the links are of different subjects', () => {
    expect(judged(at('a', 'b'), at('b', 'a', { about: other.about }))).toEqual({
      inForce: ['a', 'b'],
      conflicts: ['wrong-join a b', 'wrong-join b a'],
    })
  })
})

describe('voids', () => {
  const voided = claim({ source: QUALITY, id: 'void', void: true, joins: key(root), recorded: 40 })

  it('take the whole record, whichever version they name', () => {
    const ofHead = claim({ ...voided, joins: key(correction) })
    expect(judged(root, correction, voided)).toEqual({ inForce: [], conflicts: [] })
    expect(judged(root, correction, ofHead)).toEqual({ inForce: [], conflicts: [] })
  })

  it('wait for a report that has not arrived', () => {
    expect(judged(voided)).toEqual({ inForce: [], conflicts: [] })
    expect(judged(voided, claim({ ...root, recorded: 50 }))).toEqual({ inForce: [], conflicts: [] })
  })

  it('are final: a correction after one does not count and is shown', () => {
    const late = claim({ id: 'late', joins: key(correction), recorded: 41 })
    const later = claim({ id: 'later', joins: key(late), recorded: 42 })
    const ofVoid = claim({ id: 'of-void', joins: key(voided), recorded: 43 })
    expect(judged(root, correction, voided, late, later, ofVoid)).toEqual({
      inForce: [],
      conflicts: ['after-void later void', 'after-void of-void void'],
    })
  })

  it('count as coming first where a correction was recorded in the same moment', () => {
    const at = { id: 'late', joins: key(root), recorded: voided.recorded }
    expect(judged(root, voided, claim(at)).conflicts).toEqual(['after-void late void'])
    expect(judged(root, voided, claim({ ...at, recorded: 39 })).conflicts).toEqual([])
  })

  it('are undone by reporting again', () => {
    const again = claim({ id: 'again', recorded: 50 })
    expect(judged(root, voided, again)).toEqual({ inForce: ['again'], conflicts: [] })
  })

  it('count once, however many they are', () => {
    const twice = claim({ ...voided, id: 'void too', recorded: 41 })
    expect(judged(root, voided, twice)).toEqual({ inForce: [], conflicts: [] })
  })

  it('of another type or subject void nothing', () => {
    const wrong = claim({ ...voided, about: other.about })
    expect(judged(root, wrong)).toEqual({ inForce: ['root'], conflicts: ['wrong-join void root'] })
  })

  it('take a circle as well', () => {
    const a = claim({ id: 'a', joins: { source: sourceOf('f1'), id: 'b' } })
    const b = claim({ id: 'b', joins: key(a) })
    const both = claim({ id: 'void', joins: key(a), void: true })
    expect(judged(a, b, both)).toEqual({ inForce: [], conflicts: ['circle a b'] })
  })
})

describe('slots', () => {
  const slot = 'heat 7 ladle 1'
  const hand = claim({ id: 'hand', slot, rank: 0, recorded: 20 })
  const machine = claim({ id: 'machine', about: other.about, slot, rank: 2, recorded: 10 })

  it('let the strongest of rival statements stand, whatever their subjects', () => {
    expect(judged(hand, machine)).toEqual({
      inForce: ['machine'],
      conflicts: ['rival-statements machine hand winner machine'],
    })
  })

  it('give a slot back when its winner is voided', () => {
    const voided = claim({ id: 'v', about: other.about, void: true, joins: key(machine) })
    expect(judged(hand, machine, voided)).toEqual({ inForce: ['hand'], conflicts: [] })
  })

  it('are left by a report that is corrected into another', () => {
    const moved = claim({ ...machine, id: 'moved', slot: 'heat 8 ladle 1', joins: key(machine) })
    expect(judged(hand, machine, moved)).toEqual({ inForce: ['hand', 'moved'], conflicts: [] })
  })

  it('are not shared between plants', () => {
    const south = claim({ id: 'south', slot, plant: 'south', source: sourceOf('f1', 'south') })
    expect(judged(hand, south)).toEqual({ inForce: ['hand', 'south'], conflicts: [] })
  })
})

describe('handlings of a load', () => {
  const load = (id: string, from: number, until: number, rank: 0 | 1 | 2 = 1) =>
    claim({ id, about: `${id} of load:X`, slot: 'blasted load:X 1', from, until, rank })

  it('both stand where their times do not meet: the tag was used again', () => {
    expect(judged(load('b', 20, 30), load('a', 0, 10))).toEqual({
      inForce: ['a', 'b'],
      conflicts: ['tag-reused a b'],
    })
  })

  it('both stand where one begins when the other ends', () => {
    expect(judged(load('a', 0, 10), load('b', 10, 20)).inForce).toEqual(['a', 'b'])
    expect(judged(load('a', 10, 10), load('b', 10, 20)).inForce).toEqual(['a', 'b'])
  })

  it('are rivals where their times meet', () => {
    expect(judged(load('a', 0, 11), load('b', 10, 20, 2))).toEqual({
      inForce: ['b'],
      conflicts: ['rival-statements b a winner b'],
    })
  })

  it('are rivals where they end together, told with a start or without', () => {
    expect(judged(load('a', 0, 10, 2), load('b', 10, 10)).inForce).toEqual(['a'])
    expect(judged(load('a', 10, 10, 2), load('b', 10, 10)).inForce).toEqual(['a'])
  })

  it('are rivals along a chain, and only within it', () => {
    const chain = [load('a', 0, 10), load('b', 9, 20), load('c', 19, 30, 2)]
    expect(judged(...chain, load('d', 30, 40), load('e', 39, 50))).toEqual({
      inForce: ['c', 'e'],
      conflicts: [
        'rival-statements c b a winner c',
        'rival-statements e d winner e',
        'tag-reused c e',
      ],
    })
  })

  it('are one chain where the one between is long', () => {
    const claims = [load('a', 0, 50, 2), load('b', 10, 11), load('c', 40, 60)]
    expect(judged(...claims).inForce).toEqual(['a'])
  })

  it('are rivals of all others where no time is told', () => {
    const timeless = claim({ id: 't', slot: 'blasted load:X 1', rank: 0 })
    expect(judged(load('a', 0, 10), timeless, load('b', 20, 30, 2)).inForce).toEqual(['b'])
  })
})

describe('a conflict in words', () => {
  const of = (...claims: Claim[]) => [...inForce(claims).conflicts].map(sentence)

  it('names what counts and what does not', () => {
    const rivals = ['a', 'b', 'c', 'd', 'e'].map((id) => claim({ id, slot: 's' }))
    expect(of(...rivals.slice(0, 2))).toEqual([
      `b of ${sourceOf('f1')} counts, and not a of ${sourceOf('f1')}: all report the same thing.`,
    ])
    expect(of(...rivals)).toEqual([
      `e of ${sourceOf('f1')} counts, and not 4 others: all report the same thing.`,
    ])
  })

  it('says of a circle of one that it corrects itself', () => {
    expect(of(claim({ joins: { source: sourceOf('f1'), id: '1' } }))).toEqual([
      `1 of ${sourceOf('f1')} corrects itself.`,
    ])
  })

  it('tells how to bring a voided report back', () => {
    const voided = claim({ id: 'v', void: true, joins: key(root) })
    expect(of(root, voided, correction)).toEqual([
      `correction of ${sourceOf('f1')} corrects a voided report and does not count: report it again under a new id.`,
    ])
  })
})
