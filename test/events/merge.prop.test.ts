import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import { inForce } from '../../services/events/merge.ts'
import { runs } from '../runs.ts'
import { anyClaim, anyClaims, claim, print, printAll, printConflicts, sourceOf } from './claims.ts'

const RUNS = runs(2_000)

const view = (claims: Iterable<Claim>) => {
  const { inForce: standing, conflicts } = inForce(claims)
  return { inForce: printAll(standing), conflicts: printConflicts(conflicts) }
}
const inAnyOrder = <T>(items: T[]) =>
  fc.shuffledSubarray(items, { minLength: items.length, maxLength: items.length })
const key = ({ source, id }: Claim) => ({ source, id })

describe('the view of a set of claims', () => {
  it('does not change when a claim is said again', () => {
    const again = fc.tuple(fc.nat(), fc.nat(5), fc.nat())
    fc.assert(
      fc.property(anyClaims(), fc.array(again), (claims, repeats) => {
        const repeated = [...claims]
        for (const [which, later, where] of claims.length > 0 ? repeats : []) {
          const one = claims[which % claims.length]!
          const copy = { ...one, recorded: one.recorded + later }
          repeated.splice(where % (repeated.length + 1), 0, copy)
        }
        expect(view(repeated)).toEqual(view(claims))
      }),
      RUNS,
    )
  })

  it('does not depend on the order of arrival', () => {
    const twoOrders = anyClaims().chain((claims) =>
      fc.tuple(fc.constant(claims), inAnyOrder(claims)),
    )
    fc.assert(
      fc.property(twoOrders, ([one, other]) => {
        expect(view(one)).toEqual(view(other))
      }),
      RUNS,
    )
  })

  it('changes by that claim alone when an unrelated one is added', () => {
    fc.assert(
      fc.property(anyClaims(), anyClaim, fc.nat(), (claims, any, where) => {
        const unrelated = claim({
          ...any,
          id: 'unrelated',
          void: false,
          joins: undefined,
          slot: any.slot && `${any.slot} elsewhere`,
        })
        const before = view(claims)
        expect(view(claims.toSpliced(where % (claims.length + 1), 0, unrelated))).toEqual({
          inForce: [...before.inForce, print(unrelated)].sort(),
          conflicts: before.conflicts,
        })
      }),
      RUNS,
    )
  })

  it('is the views of the plants put together', () => {
    fc.assert(
      fc.property(anyClaims(), anyClaims(), (north, more) => {
        const south = more.map((one) => ({ ...one, plant: 'south' }))
        const [one, other] = [view(north), view(south)]
        expect(view([...north, ...south])).toEqual({
          inForce: [...one.inForce, ...other.inForce].sort(),
          conflicts: [...one.conflicts, ...other.conflicts].sort(),
        })
      }),
      RUNS,
    )
  })

  it('leaves out what is said again, corrected or voided, and what a conflict shows; nothing else', () => {
    fc.assert(
      fc.property(anyClaims(), (claims) => {
        const { inForce: standing, conflicts } = view(claims)
        const accounted = [...standing, ...conflicts].join('\n')
        for (const one of claims) {
          const alike = claims.filter((other) => other.about === one.about)
          const saidAgain = claims.some(
            (other) =>
              other.source === one.source &&
              other.id === one.id &&
              other.hash === one.hash &&
              accounted.includes(print(other)),
          )
          const corrected = alike.some(
            ({ joins }) => joins?.source === one.source && joins.id === one.id,
          )
          const voided = alike.some((other) => other.void)
          expect(saidAgain || corrected || voided, print(one)).toBe(true)
        }
      }),
      RUNS,
    )
  })
})

describe('a record', () => {
  const chain = fc.nat(7).chain((length) => {
    const claims = [claim({ id: '0' })]
    for (let i = 1; i <= length; i++) {
      claims.push(claim({ id: `${i}`, joins: key(claims[i - 1]!) }))
    }
    const told = claims.map((one) =>
      fc
        .record({ rank: fc.constantFrom<0 | 1 | 2>(0, 1, 2), recorded: fc.nat(9) })
        .map((said) => ({ ...one, ...said })),
    )
    return fc.tuple(...told)
  })

  it('is its last correction, in whatever order the chain arrives and with or without its root', () => {
    const arrived = chain.chain((claims) =>
      fc.tuple(fc.constant(claims.at(-1)!), fc.boolean(), inAnyOrder(claims)),
    )
    fc.assert(
      fc.property(arrived, ([head, rooted, claims]) => {
        const heard = rooted ? claims : claims.filter((one) => one.id !== '0' || one === head)
        expect(view(heard)).toEqual({ inForce: [print(head)], conflicts: [] })
      }),
      RUNS,
    )
  })

  it('is out of force once any version of it is voided, and leaves all others as they were', () => {
    const target = anyClaims().filter((claims) => inForce(claims).inForce.size > 0)
    fc.assert(
      fc.property(target, fc.nat(), fc.nat(3), fc.nat(9), (claims, which, named, recorded) => {
        const standing = [...inForce(claims).inForce]
        const head = standing[which % standing.length]!
        const { about } = head
        const next = claim({ id: 'next', about, joins: key(head), recorded: 5 })
        const last = claim({ id: 'last', about, joins: key(next), recorded: 6, slot: 'load X' })
        const rival = claim({ id: 'rival', about, joins: key(head), recorded: 7, rank: 2 })
        const record = [head, next, last, rival]
        const joins = key(record[named]!)
        const voided = claim({ id: 'void', about, joins, void: true, recorded })
        const after = inForce([voided, rival, ...claims, last, next]).inForce
        const others = standing.filter((one) => one !== head)
        expect(record.filter((one) => after.has(one))).toEqual([])
        expect(others.filter((one) => !after.has(one))).toEqual([])
      }),
      RUNS,
    )
  })
})

describe('rivals', () => {
  const strengths = fc.array(
    fc.record({
      rank: fc.constantFrom<0 | 1 | 2>(0, 1, 2),
      recorded: fc.nat(3),
      machine: fc.constantFrom('f1', 'f2'),
    }),
    { minLength: 2, maxLength: 8 },
  )
  const root = { source: sourceOf('f1'), id: 'root' }
  const rivalry = fc.constantFrom<[string, Partial<Claim>, Claim[]]>(
    ['rival-statements', { slot: 'heat 7 ladle 1' }, []],
    ['rival-statements', { slot: 'load X', from: 0, until: 5 }, []],
    ['rival-corrections', { joins: root }, []],
    ['rival-corrections', { joins: root }, [claim({ ...root, rank: 2, recorded: 9 })]],
  )

  it('have one winner and one conflict that shows them all', () => {
    fc.assert(
      fc.property(strengths, rivalry, (given, [sort, common, others]) => {
        const rivals = given.map(({ machine, ...said }, i) =>
          claim({ ...common, ...said, source: sourceOf(machine), id: `${i}` }),
        )
        const digits = ({ rank, recorded, source, id }: Claim) =>
          `${rank}${recorded}${source} ${id}`
        const winner = rivals.reduce((a, b) => (digits(a) > digits(b) ? a : b))
        const seen = inForce([...rivals, ...others])
        expect([...seen.inForce]).toEqual([winner])
        expect(seen.conflicts).toMatchObject([{ sort, winner }])
        expect(new Set(seen.conflicts[0]!.claims)).toEqual(new Set(rivals))
      }),
      RUNS,
    )
  })

  it('of a slot are never in force together, unless they share no time', () => {
    fc.assert(
      fc.property(anyClaims(), (claims) => {
        const slotted = [...inForce(claims).inForce].filter((one) => one.slot !== undefined)
        for (const one of slotted) {
          for (const other of slotted) {
            if (one === other || one.slot !== other.slot) continue
            const apart = one.until! <= other.from! || other.until! <= one.from!
            expect(apart, `${print(one)} and ${print(other)}`).toBe(true)
          }
        }
      }),
      RUNS,
    )
  })
})

describe('the claims these laws are tried on', () => {
  it('bring about every sort of conflict', () => {
    const seen = new Map<string, number>()
    for (const claims of fc.sample(anyClaims(), 2000)) {
      for (const sort of new Set(inForce(claims).conflicts.map((conflict) => conflict.sort))) {
        seen.set(sort, (seen.get(sort) ?? 0) + 1)
      }
    }
    const often = [...seen].filter(([, times]) => times >= 40).map(([sort]) => sort)
    expect(often.sort(), JSON.stringify([...seen])).toEqual([
      'after-void',
      'circle',
      'id-reused',
      'rival-corrections',
      'rival-statements',
      'tag-reused',
      'wrong-join',
    ])
  })
})
