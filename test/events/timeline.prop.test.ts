import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import { inForce } from '../../services/events/merge.ts'
import type { Span } from '../../services/events/span.ts'
import { Timeline } from '../../services/events/timeline.ts'
import { runs } from '../runs.ts'
import { anyClaim, anyClaims, claim, print, printAll, printConflicts, sourceOf } from './claims.ts'

const RUNS = runs(2_000)
/** All moments at which something is recorded in these tests, one before and one after. */
const MOMENTS = Array.from({ length: 12 }, (_, i) => i - 1)

/** A timeline, and what a reader of its changes knows. */
function follow() {
  const timeline = new Timeline<Claim>()
  const spans = new Map<Claim, readonly Span[]>()
  return {
    add(...claims: Claim[]) {
      const changes = timeline.add(claims)
      for (const { claim: changed, before, after } of changes) {
        expect(before).toEqual(spans.get(changed) ?? [])
        expect(after).not.toEqual(before)
        spans.set(changed, after)
      }
      expect(new Set(changes.map((change) => change.claim)).size).toBe(changes.length)
      return changes
    },
    asOf(moment: number) {
      const covers = ({ since, until }: Span) => since <= moment && moment < until
      return printAll([...spans].filter(([, held]) => held.some(covers)).map(([one]) => one))
    },
    spans: () => [...spans].filter(([, held]) => held.length > 0),
    conflicts: () => printConflicts(timeline.conflicts()),
  }
}

const view = (claims: Iterable<Claim>) => printAll(inForce(claims).inForce)
const now = (claims: Iterable<Claim>) => printConflicts(inForce(claims).conflicts)
const inAnyOrder = <T>(items: T[]) =>
  fc.shuffledSubarray(items, { minLength: items.length, maxLength: items.length })
const key = ({ source, id }: Claim) => ({ source, id })

describe('the timeline', () => {
  it('shows as of every moment the view of what was recorded by then', () => {
    fc.assert(
      fc.property(anyClaims(), (claims) => {
        const followed = follow()
        followed.add(...claims)
        for (const moment of MOMENTS) {
          expect(followed.asOf(moment)).toEqual(view(claims.filter((c) => c.recorded <= moment)))
        }
        expect(followed.conflicts()).toEqual(now(claims))
      }),
      RUNS,
    )
  })

  it('equals the view of all that has arrived after every arrival, at every moment', () => {
    fc.assert(
      fc.property(anyClaims(), (claims) => {
        const followed = follow()
        for (const [i, one] of claims.entries()) {
          followed.add(one)
          const arrived = claims.slice(0, i + 1)
          for (const moment of MOMENTS) {
            const recorded = arrived.filter((any) => any.recorded <= moment)
            expect(followed.asOf(moment)).toEqual(view(recorded))
          }
          expect(followed.conflicts()).toEqual(now(arrived))
        }
      }),
      RUNS,
    )
  })

  it('comes to the same in any order and any batches', () => {
    const twoWays = anyClaims(20).chain((claims) =>
      fc.tuple(fc.constant(claims), inAnyOrder(claims), fc.array(fc.nat(5))),
    )
    const printed = (spans: [Claim, readonly Span[]][]) =>
      spans.map(([one, held]) => `${print(one)} ${JSON.stringify(held)}`).sort()
    fc.assert(
      fc.property(twoWays, ([claims, order, sizes]) => {
        const [whole, split] = [follow(), follow()]
        whole.add(...claims)
        const rest = [...order]
        for (const size of sizes) split.add(...rest.splice(0, size))
        split.add(...rest)
        expect(printed(split.spans())).toEqual(printed(whole.spans()))
        expect(split.conflicts()).toEqual(whole.conflicts())
      }),
      RUNS,
    )
  })

  it('is not changed by what it has already', () => {
    fc.assert(
      fc.property(anyClaims(), fc.array(fc.tuple(fc.nat(), fc.nat(5))), (claims, repeats) => {
        const followed = follow()
        followed.add(...claims)
        const conflicts = followed.conflicts()
        for (const [which, later] of claims.length > 0 ? repeats : []) {
          const one = claims[which % claims.length]!
          expect(followed.add({ ...one, recorded: one.recorded + later })).toEqual([])
        }
        expect(followed.conflicts()).toEqual(conflicts)
      }),
      RUNS,
    )
  })

  it('changes by that claim alone when an unrelated one is added', () => {
    fc.assert(
      fc.property(anyClaims(), anyClaim, (claims, any) => {
        const slot = any.slot && `${any.slot} elsewhere`
        const unrelated = claim({ ...any, id: 'unrelated', void: false, joins: undefined, slot })
        const followed = follow()
        followed.add(...claims)
        const conflicts = followed.conflicts()
        expect(followed.add(unrelated)).toEqual([
          { claim: unrelated, before: [], after: [{ since: any.recorded, until: Infinity }] },
        ])
        expect(followed.conflicts()).toEqual(conflicts)
      }),
      RUNS,
    )
  })

  it('is not changed by the arrival of a report that was corrected before it was recorded', () => {
    fc.assert(
      fc.property(anyClaims(), fc.nat(9), fc.nat(9), fc.nat(9), (claims, a, b, late) => {
        const root = claim({ id: 'root', source: sourceOf('f9'), recorded: Math.max(a, b) + late })
        const first = claim({ id: 'first', joins: key(root), recorded: a })
        const second = claim({ id: 'second', joins: key(first), recorded: b })
        const followed = follow()
        followed.add(second, ...claims, first)
        expect(followed.add(root)).toEqual([])
        expect(followed.asOf(99)).toContain(print(second))
      }),
      RUNS,
    )
  })
})

describe('the timeline of many rivals', () => {
  // Enough that those beaten for good are left out, with all that may seem to bring one back.
  const crowded = fc
    .array(fc.tuple(anyClaim, fc.nat(7)), { minLength: 8, maxLength: 16, size: 'max' })
    .map((claims) =>
      claims.map(([one, chance], i) => {
        const { source, recorded, rank, about, id } = one
        const plain = { source, recorded, rank, about, id: chance % 2 === 0 ? id : `${i}` }
        if (chance < 2) return one
        if (chance < 5) return claim({ ...plain, slot: 'load X' })
        return claim({ ...plain, joins: { source: sourceOf('f1'), id: '1' } })
      }),
    )

  it('shows after every arrival what is in force, and in the end all that ever was', () => {
    fc.assert(
      fc.property(crowded, (claims) => {
        const followed = follow()
        for (const [i, one] of claims.entries()) {
          followed.add(one)
          expect(followed.asOf(99)).toEqual(view(claims.slice(0, i + 1)))
        }
        for (const moment of MOMENTS) {
          expect(followed.asOf(moment)).toEqual(view(claims.filter((c) => c.recorded <= moment)))
        }
        expect(followed.conflicts()).toEqual(now(claims))
      }),
      RUNS,
    )
  })
})
