import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Asking, someone } from './asking.ts'
import { sourceOf } from './record.ts'

const REPLAY = `mutation ($report: ID!, $edited: String) {
  replaySetAside(input: {report: $report, edited: $edited}) {
    __typename ... on Published { sentence matter } ... on AlreadyPublished { sentence }
    ... on Refused { problems { field sentence } } } }`
const ASIDE = `{ setAside(first: 5) { edges { node { id setAsideFor } } } }`

const tap = (kg: unknown, more: object = {}) => ({
  ...{ specversion: '1.0', id: 'bad', source: sourceOf('melt', 'F1') },
  ...{ type: 'melt.heat-tapped.v1', time: '2026-03-02T07:00:00-06:00' },
  recordedtime: '2026-03-02T13:01:00Z',
  data: { heat: 'H-1', furnace: 'F1', ladle: 'L-1', kg },
  ...more,
})

describe('What was set aside', () => {
  let asking: Asking
  let report: string
  beforeEach(async () => {
    asking = await Asking.start()
    await asking.record.take('melt', JSON.stringify(tap('much')))
    report = (await asking.ask(ASIDE)).setAside.edges[0].node.id
  })
  afterEach(() => asking?.[Symbol.asyncDispose]())

  const replay = async (edited?: object, who = someone('quality')) => {
    const given = { report, ...(edited && { edited: JSON.stringify(edited) }) }
    return (await asking.ask(REPLAY, given, who)).replaySetAside
  }

  it('is put right by quality once, and it is kept who did it', async () => {
    const done = await replay(tap(480))
    expect(done).toMatchObject({
      __typename: 'Published',
      sentence: 'What was set aside at melt.0.0 stands in the log again, replayed by a_quality.',
      matter: 'report:melt.0.1',
    })
    const { node } = await asking.ask(
      '{ node(id: "report:melt.0.1") { ... on Report { inForce flags } } }',
    )
    expect(node.inForce).toBe(true)
    expect(node.flags.join()).toContain('set aside at melt/0/0 and was replayed by a_quality')
    const again = await replay(tap(490))
    expect(again).toEqual({
      __typename: 'AlreadyPublished',
      sentence: 'It was replayed by a_quality before; nothing was added.',
    })
  })

  it('is not replayed while it cannot be read, and what is wrong is said', async () => {
    const asItCame = await replay(undefined, someone('admin'))
    expect(asItCame.problems).toMatchObject([
      { field: 'input.report', sentence: expect.stringContaining('kg') },
    ])
    const edited = await replay(tap(-1))
    expect(edited.problems[0].field).toBe('input.edited')
  })

  it('is put right by nobody but quality, and replayed by nobody below a keeper', async () => {
    const byKeeper = await replay(tap(480), someone('admin'))
    expect(byKeeper.problems[0].sentence).toContain('Only quality')
    for (const role of ['service', 'analyst', 'station'] as const)
      expect(await asking.codeOf(REPLAY, { report }, someone(role))).toBe('FORBIDDEN')
    expect((await asking.ask('{ setAside(first: 5) { totalCount } }')).setAside.totalCount).toBe(1)
  })

  it('is not moved to another plant, nor is what was never set aside', async () => {
    const source = 'https://demo.example/plant/south/melt/F1'
    expect((await replay(tap(480, { source }))).problems[0].sentence).toContain('another plant')
    for (const other of ['report:melt.0.9', 'report:melt', 'heat:H-1']) {
      report = other
      expect((await replay(tap(480))).problems[0].field).toBe('input.report')
    }
  })
})
