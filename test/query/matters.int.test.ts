import { randomUUID } from 'node:crypto'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { workingDaysAfter } from '../../services/query/matters/clocks.ts'
import { inParts } from '../../services/query/matters/scope.ts'
import { Asking, someone } from './asking.ts'
import { DAY } from './small-plant.ts'

const DECISION = `__typename ... on Published { matter sentence } ... on Refused { problems { field sentence } }
  ... on LookAgain { changes { joined left sentence } } ... on AlreadyPublished { sentence }`
const INQUIRY = `__typename ... on Inquiry { mark reassurance say because packs castings products { name } made { from to }
    shippedOn shippedToCaller inspected complaints completeness { verdict } }
  ... on MarkUnclear { written askCaller reassurance candidates { mark } } ... on MarkNotFound { sentence near }`

describe('Matters', () => {
  let asking: Asking
  beforeEach(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY)
  })
  afterEach(() => asking?.[Symbol.asyncDispose]())

  const decide = async (name: string, type: string, input: object, who = someone('quality')) => {
    const answer = await asking.ask(
      `mutation ($input: ${type}!) { ${name}(input: $input) { ${DECISION} } }`,
      { input: { reportId: randomUUID(), ...input } },
      who,
    )
    return answer[name]
  }
  const inquire = async (mark: string, customer?: string) => {
    const source = `query ($mark: String!, $customer: String) { inquiry(mark: $mark, customer: $customer) { ${INQUIRY} } }`
    return (await asking.ask(source, { mark, customer }, someone('service'))).inquiry
  }
  const reachId = async (thing: string) => {
    const { reach } = await asking.ask(
      `query ($things: [ID!]) { reach(from: {things: $things}, affected: {touched: true}) { ... on Reach { id castings { toHold } } } }`,
      { things: [thing] },
    )
    return reach as { id: string; castings: { toHold: number } }
  }

  it('open by a hold on a thing, and close when all of it is released', async () => {
    const held = await decide('placeHold', 'HoldInput', {
      of: { things: [{ of: 'pack:K-1' }, { of: 'pack:K-3', castings: 2 }] },
      reason: 'blisters',
    })
    expect(held.__typename).toBe('Published')
    const read = `{ holds(first: 5) { edges { node { id state reason covers(first: 9) { edges { castings released node { id } } } } } } }`
    const { holds } = await asking.ask(read)
    expect(holds.edges[0].node).toMatchObject({
      id: held.matter,
      state: 'OPEN',
      reason: 'blisters',
    })
    const some = await decide('releaseHold', 'ReleaseInput', {
      hold: held.matter,
      of: [{ of: 'pack:K-1' }],
      reason: 'sound',
    })
    expect(some.__typename).toBe('Published')
    expect((await asking.ask(read)).holds.edges[0].node.state).toBe('OPEN')
    const rest = await decide('releaseHold', 'ReleaseInput', { hold: held.matter, reason: 'sound' })
    expect(rest.__typename).toBe('Published')
    expect((await asking.ask(read)).holds.edges[0].node.state).toBe('CLOSED')
    const again = await decide('releaseHold', 'ReleaseInput', { hold: held.matter, reason: 'x' })
    expect(again.problems[0].sentence).toBe(`${held.matter} is closed.`)
  })

  it('are published once, however often they are said', async () => {
    const input = {
      reportId: randomUUID(),
      of: { things: [{ of: 'pack:K-1' }] },
      reason: 'blisters',
    }
    const [first, second] = await Promise.all([
      decide('placeHold', 'HoldInput', input),
      decide('placeHold', 'HoldInput', input),
    ])
    const third = await decide('placeHold', 'HoldInput', input)
    expect([first, second, third].map((one) => one.__typename).sort()).toEqual([
      'AlreadyPublished',
      'AlreadyPublished',
      'Published',
    ])
    const { holds } = await asking.ask('{ holds { totalCount } }')
    expect(holds.totalCount).toBe(1)
  })

  it('are refused with the field to put right', async () => {
    const unknown = await decide('placeHold', 'HoldInput', {
      of: { things: [{ of: 'pack:NONE' }] },
      reason: 'x',
    })
    expect(unknown.problems[0].field).toBe('input.of.things.0.of')
    const number = await decide('placeHold', 'HoldInput', {
      reportId: 'once',
      of: { things: [{ of: 'pack:K-1' }] },
      reason: 'x',
    })
    expect(number.problems[0].field).toBe('input.reportId')
    const long = await decide('placeHold', 'HoldInput', {
      of: { things: [{ of: 'pack:K-1' }] },
      reason: 'x'.repeat(501),
    })
    expect(long.problems[0].field).toBe('input.reason')
  })

  it('freeze what an answer says, and want a second look when it has changed', async () => {
    const { id, castings } = await reachId('pour:P-1')
    const recall = await decide('openRecall', 'RecallInput', {
      answer: id,
      reason: 'cracks',
      say: 'Please stop using it.',
    })
    expect(recall.__typename).toBe('Published')
    const read = `query ($id: ID!) { node(id: $id) { ... on Recall { state basedOn partsMissing
      covers(first: 200) { edges { castings node { id } } }
      found { castings shipped notKnown effectiveness parts { became castings } }
      calls { edges { node { customer castings marks toldAt answered } } }
      clocks { duty due source } } } }`
    const opened = (await asking.ask(read, { id: recall.matter })).node
    expect(opened).toMatchObject({ state: 'OPEN', basedOn: [id], partsMissing: 0 })
    // What was scrapped is not called back.
    expect(opened.found.castings).toBe(castings.toHold - 2)
    expect(opened.found.notKnown).toBe(opened.found.castings)
    expect(opened.calls.edges[0].node.customer).toBe('Harbor Goods')
    await decide('recordTold', 'ToldInput', { recall: recall.matter, customer: 'Harbor Goods' })
    await decide('recordAnswer', 'AnswerInput', {
      recall: recall.matter,
      customer: 'Harbor Goods',
      lines: [{ pack: 'pack:K-1', castings: 3, outcome: 'RETURNED' }],
    })
    await decide('recordDisposition', 'DispositionInput', {
      under: recall.matter,
      of: [{ of: 'pack:K-2', castings: 1 }],
      disposition: 'KEPT_APART',
      reason: 'found in bay 2',
    })
    const after = (await asking.ask(read, { id: recall.matter })).node
    expect(after.calls.edges[0].node).toMatchObject({ answered: 3 })
    expect(after.calls.edges[0].node.toldAt).not.toBeNull()
    expect(after.found.parts).toEqual(
      expect.arrayContaining([
        { became: 'RETURNED', castings: 3 },
        { became: 'KEPT_APART', castings: 1 },
      ]),
    )
    expect(after.found.notKnown).toBe(opened.found.castings - 4)
    expect(after.found.effectiveness).toBeCloseTo(3 / after.found.shipped, 12)
    // More of it is packed since.
    await asking.record.say({
      type: 'ship.pans-packed.v1',
      time: '2026-03-02T14:30:00-06:00',
      data: {
        pack: 'K-9',
        marks: ['LATE-1'],
        lines: [{ product: 'skillet 10', castings: 2, sources: [{ of: 'load:LD-1' }] }],
      },
      recorded: '2026-03-02T23:00:00Z',
    })
    const stale = await decide('openRecall', 'RecallInput', {
      answer: id,
      recall: recall.matter,
      reason: 'cracks',
      say: 'Please stop using it.',
    })
    expect(stale.__typename).toBe('LookAgain')
    const fresh = await reachId('pour:P-1')
    const wider = await decide('openRecall', 'RecallInput', {
      answer: fresh.id,
      recall: recall.matter,
      reason: 'cracks',
      say: 'Please stop using it.',
    })
    expect(wider).toMatchObject({ __typename: 'Published', matter: recall.matter })
    const widened = (await asking.ask(read, { id: recall.matter })).node
    expect(widened.basedOn).toEqual([id, fresh.id])
    const ids = widened.covers.edges.map((edge: { node: { id: string } }) => edge.node.id)
    expect(ids).toContain('pack:K-9')
  })

  it('tell a rep the most careful of what holds', async () => {
    const free = await inquire('K26-0302-A', 'Harbor Goods')
    expect(free.__typename).toMatch(/Inquiry|MarkNotFound/)
    const mark = (
      await asking.ask('{ node(id: "pack:K-1") { ... on Pack { marks castings { value } } } }')
    ).node.marks[0]
    const before = await inquire(mark, 'harbor goods')
    expect(before).toMatchObject({ __typename: 'Inquiry', shippedToCaller: true, castings: 20 })
    // The small plant has gaps on the way to this pack: nothing may be promised.
    expect(before.completeness.verdict).not.toBe('WHOLE')
    expect(before.reassurance).toBe('CANNOT_SAY')
    const hold = await decide('placeHold', 'HoldInput', {
      of: { things: [{ of: 'heat:H-1' }] },
      reason: 'secret reason',
      say: 'Please wait for our call.',
    })
    const held = await inquire(mark)
    expect(held).toMatchObject({ reassurance: 'NOT_YET', say: ['Please wait for our call.'] })
    expect(JSON.stringify(held)).not.toMatch(/secret|H-1|Harbor/)
    const { id } = await reachId('pour:P-1')
    await decide('openRecall', 'RecallInput', { answer: id, reason: 'r', say: 'Send it back.' })
    expect(await inquire(mark)).toMatchObject({ reassurance: 'RECALLED', say: ['Send it back.'] })
    await decide('releaseHold', 'ReleaseInput', { hold: hold.matter, reason: 'sound' })
    expect((await inquire(mark)).reassurance).toBe('RECALLED')
  })

  it('count from when they come in, though a door whose clock runs ahead stamped later ones before', async () => {
    await asking.record.say({
      type: 'ship.pans-packed.v1',
      time: '2026-03-02T14:40:00-06:00',
      data: { pack: 'K-7', marks: ['AHEAD'], lines: [{ product: 'lid 10', castings: 1 }] },
      recorded: '2026-03-03T09:00:00Z',
    })
    expect((await inquire('GIFT-1')).reassurance).toBe('CANNOT_SAY')
    await decide('placeHold', 'HoldInput', { of: { things: [{ of: 'pack:K-4' }] }, reason: 'x' })
    expect((await inquire('GIFT-1')).reassurance).toBe('NOT_YET')
  })

  it('follow a recalled pack into the cartons it was repacked into', async () => {
    await decide('placeHold', 'HoldInput', {
      of: { things: [{ of: 'pack:K-2' }] },
      reason: 'blisters',
    })
    expect((await inquire('GIFT-1')).reassurance).toBe('NOT_YET')
  })

  it('ask a caller apart what one mark may be', async () => {
    const both = await inquire('SAME')
    expect(both).toMatchObject({ __typename: 'Inquiry', mark: 'SAME', packs: 2 })
    await decide('placeHold', 'HoldInput', { of: { things: [{ of: 'pack:K-3' }] }, reason: 'x' })
    expect((await inquire('SAME')).reassurance).toBe('NOT_YET')
    await asking.record.say({
      type: 'ship.pans-packed.v1',
      time: '2026-03-02T14:30:00-06:00',
      data: { pack: 'K-8', marks: ['SOME'], lines: [{ product: 'griddle', castings: 2 }] },
    })
    const unclear = await inquire('S?ME')
    expect(unclear).toMatchObject({ __typename: 'MarkUnclear', reassurance: 'NOT_YET' })
    expect(unclear.candidates.map(({ mark }: { mark: string }) => mark).sort()).toEqual([
      'SAME',
      'SOME',
    ])
    expect(unclear.askCaller).toMatch(/Ask the caller/)
    expect((await inquire('NO-SUCH')).sentence).toMatch(/Write the complaint down all the same/)
    expect((await inquire('lot:PI-77')).sentence).toMatch(/not a mark of a pan/)
  })

  it('take a complaint down in one step, and count it for the mark', async () => {
    const taken = await decide(
      'recordComplaint',
      'ComplaintInput',
      { mark: 'GIFT-1', defect: 'blister', hurt: true },
      someone('service'),
    )
    expect(taken.sentence).toMatch(/tell quality now/)
    expect((await inquire('gift 1')).complaints).toBe(1)
    const { complaints } = await asking.ask(
      '{ complaints { edges { node { id marks defect hurt confirmed } } } }',
    )
    expect(complaints.edges[0].node).toEqual({
      id: taken.matter,
      marks: ['GIFT-1'],
      defect: 'blister',
      hurt: true,
      confirmed: null,
    })
    const named = await decide('recordComplaint', 'ComplaintInput', {
      words: 'call me at 555 123 4567 89',
      hurt: false,
    })
    expect(named.problems[0].field).toBe('input.words')
  })

  it('let a drill be run, with its times and counts kept', async () => {
    const started = await decide('startDrill', 'DrillInput', { of: 'pack:K-1' })
    const ended = await decide('endDrill', 'EndDrillInput', { drill: started.matter })
    expect(ended.sentence).toMatch(/castings are accounted for/)
    const { drills } = await asking.ask(
      '{ drills { edges { node { state picked laps { part seconds } castings accounted answers } } } }',
    )
    const { node } = drills.edges[0]
    expect(node).toMatchObject({ state: 'CLOSED', picked: 'named by the one who started it' })
    expect(node.laps.map(({ part }: { part: string }) => part)).toContain('trace back')
    expect(node.accounted).toBeLessThanOrEqual(node.castings)
    const { answer } = await asking.ask('query ($id: ID!) { answer(id: $id) { sentence } }', {
      id: node.answers[0],
    })
    expect(answer.sentence).not.toBe('')
    const chance = await decide('startDrill', 'DrillInput', {})
    expect(chance.sentence).toMatch(/started on pack:/)
  })

  it('are for quality: others are told so', async () => {
    const input = { reportId: randomUUID(), of: { things: [{ of: 'pack:K-1' }] }, reason: 'x' }
    const source = 'mutation ($input: HoldInput!) { placeHold(input: $input) { __typename } }'
    expect(await asking.codeOf(source, { input }, someone('service'))).toBe('FORBIDDEN')
    expect(await asking.codeOf('{ recalls { totalCount } }', {}, someone('service'))).toBe(
      'FORBIDDEN',
    )
  })
})

describe('A large scope', () => {
  it('comes in parts that each fit an event, and loses nothing', () => {
    const lines = Array.from({ length: 5000 }, (_, i) => ({ of: `pack:K26-${i}`, castings: 40 }))
    const parts = inParts(lines)
    expect(parts.flat()).toEqual(lines)
    for (const part of parts) expect(JSON.stringify(part).length).toBeLessThan(50_000)
  })
})

describe('Working days', () => {
  it('leave out weekends and the day of receipt', () => {
    // From Monday 2024-07-01; with the public holiday of 4 July it would be the 16th.
    const due = workingDaysAfter(Date.parse('2024-07-01T12:00:00Z'), 10)
    expect(new Date(due).toISOString()).toBe('2024-07-15T12:00:00.000Z')
  })
})
