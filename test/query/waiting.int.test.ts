// Calls given to reps, call backs promised, and what waits for whom.
import { randomUUID } from 'node:crypto'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { Who } from '../../services/access/who.ts'
import { Asking, NOW, someone } from './asking.ts'
import { sourceOf } from './record.ts'
import { DAY } from './small-plant.ts'

const DECISION =
  '__typename ... on Published { matter sentence } ... on Refused { problems { field sentence } }'
const WAITING = `waiting(first: 50) { totalCount edges { cursor node {
  sort sentence about since due source overdue settledBy { sentence question of } } } }`
const CALLS =
  'myCalls { totalCount edges { node { recall customer marks castings say givenAt toldAt answered } } }'

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Answer = any

let asking: Asking
beforeEach(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
})
afterEach(() => asking?.[Symbol.asyncDispose]())

const [may, june] = ['may', 'june'].map((subject): Who => ({ ...someone('service'), subject }))

const decide = async (name: string, type: string, input: object, who = someone('quality')) => {
  const source = `mutation ($input: ${type}!) { ${name}(input: $input) { ${DECISION} } }`
  return (await asking.ask(source, { input: { reportId: randomUUID(), ...input } }, who))[name]
}
const waits = async (who?: Who): Promise<Answer[]> =>
  (await asking.ask(`{ ${WAITING} }`, {}, who)).waiting.edges.map(({ node }: Answer) => node)
const callsOf = async (who: Who | undefined) =>
  (await asking.ask(`{ ${CALLS} }`, {}, who)).myCalls.edges.map(({ node }: Answer) => node)
const recall = async (say = 'Send it back.') => {
  const { reach } = await asking.ask(
    '{ reach(from: {things: ["pour:P-1"]}, affected: {touched: true}) { ... on Reach { id } } }',
  )
  return (await decide('openRecall', 'RecallInput', { answer: reach.id, reason: 'cracks', say }))
    .matter as string
}
const give = (of: string, to: string, customers = ['Harbor Goods']) =>
  decide('giveCalls', 'GiveCallsInput', { recall: of, to, customers })

describe('Calls given to a rep', () => {
  it('are shown to that rep alone, and are told and answered by them alone', async () => {
    const id = await recall()
    expect(await callsOf(may)).toEqual([])
    expect((await give(id, 'may')).sentence).toMatch(/^1 call of recall R-\w+ is given to may\.$/)
    const [call] = await callsOf(may)
    expect(call).toMatchObject({
      ...{ recall: id, customer: 'Harbor Goods', marks: ['K26-0412-B7'], castings: 12 },
      ...{ say: ['Send it back.'], toldAt: null, answered: 0 },
    })
    expect(await callsOf(june)).toEqual([])
    const told = { recall: id, customer: 'Harbor Goods' }
    const theirs = await decide('recordTold', 'ToldInput', told, june)
    const none = await decide('recordTold', 'ToldInput', { ...told, recall: 'recall:R-0' }, june)
    expect(theirs).toEqual(none)
    expect(theirs.problems[0].field).toBe('input.customer')
    const lines = [{ pack: 'pack:K-1', castings: 12, outcome: 'RETURNED' }]
    expect((await decide('recordAnswer', 'AnswerInput', { ...told, lines }, june)).__typename).toBe(
      'Refused',
    )
    expect((await decide('recordTold', 'ToldInput', told, may)).__typename).toBe('Published')
    expect((await decide('recordAnswer', 'AnswerInput', { ...told, lines }, may)).__typename).toBe(
      'Published',
    )
    expect(await callsOf(may)).toMatchObject([{ toldAt: expect.any(String), answered: 12 }])
  })

  it('given again are the other rep’s', async () => {
    const id = await recall()
    await give(id, 'may')
    await give(id, 'june')
    expect(await callsOf(may)).toEqual([])
    expect(await callsOf(june)).toHaveLength(1)
    const { node } = await asking.ask(
      'query ($id: ID!) { node(id: $id) { ... on Recall { calls { edges { node { customer givenTo } } } } } }',
      { id },
    )
    expect(node.calls.edges[0].node).toEqual({ customer: 'Harbor Goods', givenTo: 'june' })
  })

  it('are of customers that got some, of an open recall, and no longer there when it is closed', async () => {
    const id = await recall()
    const stranger = await give(id, 'may', ['Harbor Goods', 'Nobody'])
    expect(stranger.problems[0].sentence).toContain('Nobody got nothing')
    await give(id, 'may')
    await decide('closeRecall', 'CloseInput', { recall: id, reason: 'all found' })
    expect(await callsOf(may)).toEqual([])
    expect((await give(id, 'may')).problems[0].sentence).toContain('is closed')
    expect(
      await asking.codeOf(
        'mutation ($input: GiveCallsInput!) { giveCalls(input: $input) { __typename } }',
        { input: { reportId: randomUUID(), recall: id, to: 'may', customers: ['x'] } },
        may,
      ),
    ).toBe('FORBIDDEN')
  })
})

describe('What waits', () => {
  it('for quality begins with whoever was hurt, then goes by its limit', async () => {
    const before = await waits()
    expect(before.map(({ sort }) => sort)).toEqual(['DRILL'])
    const due = new Date(NOW + 3_600_000).toISOString()
    const hold = await decide('placeHold', 'HoldInput', {
      of: { things: [{ of: 'pack:K-2' }] },
      ...{ reason: 'blisters', due },
    })
    const id = await recall()
    await decide('recordComplaint', 'ComplaintInput', { mark: 'SAME', hurt: false }, may)
    const hurt = await decide(
      'recordComplaint',
      'ComplaintInput',
      { mark: 'SAME', hurt: true },
      may,
    )
    const all = await waits()
    expect(all[0]).toMatchObject({
      ...{ sort: 'HURT', about: hurt.matter },
      settledBy: { question: 'COMPLAINTS', of: hurt.matter },
    })
    expect(all[1]).toMatchObject({ sort: 'HOLD', about: hold.matter, overdue: false })
    expect(Date.parse(all[1].due)).toBe(Date.parse(due))
    const clocks = all.filter(({ source }) => source?.includes('ask'))
    expect(clocks.map(({ about }) => about)).toEqual([id, id, id])
    expect(clocks.map(({ source }) => source).join()).toContain('16 CFR 1115.14(e)')
    expect(all.find(({ sort }) => sort === 'CALLS').sentence).toMatch(
      /1 of 1 customer was not told, and 1 call is given to nobody/,
    )
    // Limits rise, and what has none comes behind.
    const limits = all.slice(1).map((each) => (each.due === null ? Infinity : Date.parse(each.due)))
    expect(limits).toEqual([...limits].sort((a, b) => a - b))
  })

  it('goes when it is settled', async () => {
    const id = await recall()
    await give(id, 'may')
    const told = { recall: id, customer: 'Harbor Goods' }
    expect(await waits(may)).toMatchObject([
      { sort: 'CALLS', about: id, settledBy: { question: 'CALLS' } },
    ])
    await decide('recordTold', 'ToldInput', told, may)
    expect((await waits(may))[0].sentence).toContain('has said what became of 0 of 12 castings')
    const lines = [{ mark: 'K26-0412-B7', castings: 12, outcome: 'SOLD' }]
    await decide('recordAnswer', 'AnswerInput', { ...told, lines }, may)
    expect(await waits(may)).toEqual([])
    expect((await waits()).filter(({ sort }) => sort === 'CALLS')).toEqual([])
    await decide('closeRecall', 'CloseInput', { recall: id, reason: 'all sold' })
    expect((await waits()).map(({ sort }) => sort)).toEqual(['DRILL'])
  })

  it('for a rep is what they promised, until they say that they called', async () => {
    const callBackAt = new Date(NOW - 60_000).toISOString()
    const input = { mark: 'K26-0412-B7', hurt: false, callBackAt }
    const { matter } = await decide('recordComplaint', 'ComplaintInput', input, may)
    expect(await waits(june)).toEqual([])
    const [promised] = await waits(may)
    expect(promised).toMatchObject({
      ...{ sort: 'CALL_BACK', about: matter, overdue: true },
      settledBy: { question: 'INQUIRY', of: 'K26-0412-B7' },
    })
    const back = (who?: Who) =>
      decide('recordCalledBack', 'CalledBackInput', { complaint: matter }, who)
    expect((await back(june)).problems[0].field).toBe('input.complaint')
    expect((await back(may)).__typename).toBe('Published')
    expect(await waits(may)).toEqual([])
    const { complaints } = await asking.ask(
      '{ complaints { edges { node { callBackAt calledBackAt } } } }',
    )
    expect(complaints.edges[0].node.calledBackAt).not.toBeNull()
  })

  it('is a report set aside: by what it names to quality, by its reason to a keeper', async () => {
    const base = { specversion: '1.0', time: '2026-03-02T06:00:00-06:00' }
    const recordedtime = '2026-03-02T12:01:00Z'
    const event = (id: string, data: object) =>
      JSON.stringify({
        ...{ ...base, id, source: sourceOf('clean'), type: 'clean.load-tumbled.v1' },
        ...{ recordedtime, data },
      })
    await asking.record.take(
      'clean',
      event('bad-1', { load: 'LD-1', castings: -4 }),
      event('bad-2', { load: 'QQ-9', castings: -4 }),
    )
    const aside = (await waits()).filter(({ sort }) => sort === 'SET_ASIDE')
    expect(aside.map(({ sentence }) => sentence)).toEqual([
      '1 report that names nothing known was set aside.',
      'A report of clean was set aside that names load LD-1: until it is put right, it may not be called clear.',
    ])
    const { node } = await asking.ask('query ($id: ID!) { node(id: $id) { id } }', {
      id: aside[1].settledBy.of,
    })
    expect(node.id).toBe(aside[1].about)
    const kept = await waits(someone('admin'))
    expect(kept.map(({ sort }) => sort)).toEqual(['SET_ASIDE', 'SET_ASIDE'])
  })

  it('comes page by page', async () => {
    await recall()
    const all = await waits()
    const page = async (after: string | null) =>
      (
        await asking.ask(
          'query ($after: String) { waiting(first: 2, after: $after) { edges { cursor node { sentence } } } }',
          { after },
        )
      ).waiting.edges as Answer[]
    const read: string[] = []
    for (let edges = await page(null); edges.length > 0; edges = await page(edges.at(-1).cursor))
      read.push(...edges.map(({ node }) => node.sentence))
    expect(read).toEqual(all.map(({ sentence }) => sentence))
  })

  it('is nothing for who may not decide', async () => {
    await recall()
    expect(await waits(someone('analyst'))).toEqual([])
    expect(await asking.codeOf(`{ ${WAITING} }`, {}, someone('station'))).toBe('FORBIDDEN')
  })
})
