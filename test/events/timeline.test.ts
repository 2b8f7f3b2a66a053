import { describe, expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import { Timeline } from '../../services/events/timeline.ts'
import { claim, sourceOf } from './claims.ts'

const key = ({ source, id }: Claim) => ({ source, id })
const FOR_GOOD = Number.POSITIVE_INFINITY
const always = (since: number) => [{ since, until: FOR_GOOD }]

const slot = 'heat 7 ladle 1'
const hand = claim({ id: 'hand', slot, rank: 0, recorded: 10 })
const machine = claim({ id: 'machine', slot, rank: 2, recorded: 20 })
const voided = claim({ id: 'void', void: true, joins: key(machine), recorded: 30 })

describe('the timeline', () => {
  it('tells what each claim did to the spans of others', () => {
    const timeline = new Timeline<Claim>()
    expect(timeline.add([hand])).toEqual([{ claim: hand, before: [], after: always(10) }])
    expect(timeline.add([machine])).toEqual([
      { claim: hand, before: always(10), after: [{ since: 10, until: 20 }] },
      { claim: machine, before: [], after: always(20) },
    ])
    expect(timeline.add([voided])).toEqual([
      {
        claim: hand,
        before: [{ since: 10, until: 20 }],
        after: [
          { since: 10, until: 20 },
          { since: 30, until: FOR_GOOD },
        ],
      },
      { claim: machine, before: always(20), after: [{ since: 20, until: 30 }] },
    ])
  })

  it('writes the past anew when a report comes that was recorded long ago', () => {
    const timeline = new Timeline<Claim>()
    timeline.add([voided, hand])
    expect(timeline.add([machine])).toMatchObject([
      { claim: machine, after: [{ since: 20, until: 30 }] },
      { claim: hand, before: always(10), after: [{ until: 20 }, { since: 30 }] },
    ])
  })

  it('says nothing of a claim that was never in force', () => {
    const timeline = new Timeline<Claim>()
    timeline.add([machine])
    const weak = claim({ ...hand, recorded: 25 })
    expect(timeline.add([weak])).toEqual([])
  })

  it('takes an earlier copy in place of the one it has', () => {
    const timeline = new Timeline<Claim>()
    const [soon, late] = [claim({ recorded: 5 }), claim({ recorded: 9 })]
    timeline.add([late])
    const changes = timeline.add([soon])
    expect(changes).toEqual([
      { claim: late, before: always(9), after: [] },
      { claim: soon, before: [], after: always(5) },
    ])
    expect(changes.map((change) => change.claim.recorded)).toEqual([9, 5])
    expect([...timeline.conflicts()]).toEqual([])
  })

  it('gives back the very claims it was given', () => {
    const marked = { ...claim({}), row: 17 }
    expect(new Timeline<typeof marked>().add([marked])[0]!.claim).toBe(marked)
  })

  it('shows the conflicts of now, and no longer those that were settled', () => {
    const timeline = new Timeline<Claim>()
    timeline.add([hand, machine])
    expect([...timeline.conflicts()]).toEqual([
      { sort: 'rival-statements', claims: [machine, hand], winner: machine },
    ])
    timeline.add([voided])
    expect([...timeline.conflicts()]).toEqual([])
  })

  it('shows a wrong join once the report it names has come', () => {
    const timeline = new Timeline<Claim>()
    const named = claim({ id: 'named', about: 'melt.heat-tapped ladle:L2', recorded: 50 })
    const wrong = claim({ id: 'wrong', joins: key(named), recorded: 40 })
    timeline.add([wrong])
    expect([...timeline.conflicts()]).toEqual([])
    expect(timeline.add([named])).toEqual([{ claim: named, before: [], after: always(50) }])
    expect([...timeline.conflicts()]).toEqual([{ sort: 'wrong-join', claims: [wrong, named] }])
  })

  it('parts rivals from the moment the report they name turns out to be another', () => {
    const timeline = new Timeline<Claim>()
    const joins = { source: sourceOf('f1'), id: 'named' }
    const [a, b] = ['a', 'b'].map((id, i) => claim({ id, joins, recorded: i }))
    timeline.add([a!, b!])
    const named = claim({ ...joins, about: 'melt.heat-tapped ladle:L2', recorded: 50 })
    expect(timeline.add([named])).toMatchObject([
      { claim: named },
      { claim: a, after: [{ since: 0, until: 1 }, { since: 50 }] },
    ])
  })

  it('takes the five thousandth correction of a report as soon as the second', () => {
    const timeline = new Timeline<Claim>()
    const first = claim({ id: 'first', recorded: 0 })
    timeline.add([first])
    for (let i = 1; i <= 5_000; i++)
      timeline.add([claim({ id: `c-${i}`, joins: key(first), recorded: i })])
    const last = claim({ id: 'last', joins: key(first), recorded: 9_000 })
    expect(timeline.add([last])).toHaveLength(2)
    // A second or less; going through all before at every one of them took minutes.
  }, 10_000)
})
