import { randomUUID } from 'node:crypto'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Deed } from '../../services/access/audit.ts'
import type { Role } from '../../services/access/who.ts'
import { csvRow } from '../../services/query/files/csv.ts'
import { fileListener } from '../../services/query/files/files.ts'
import { type Listening, listen } from '../../services/query/server/http.ts'
import { Asking, QUALITY, someone } from './asking.ts'
import { DAY } from './small-plant.ts'

describe('A row of comma-separated text', () => {
  it('quotes what needs it', () => {
    expect(csvRow(['a,b', 'say "x"', 'two\nlines', 1.5, true, null])).toBe(
      '"a,b","say ""x""","two\nlines",1.5,true,\r\n',
    )
  })

  it('lets no text run as a formula, and leaves numbers alone', () => {
    expect(csvRow(['=1+1', '+1', '-1', '@SUM(A1)', '\tx', -1])).toBe(
      "'=1+1,'+1,'-1,'@SUM(A1),'\tx,-1\r\n",
    )
    for (const text of [' =1', '\u00a0=1', '\uff1d1', '\uff0b1', '\uff0d1', '\uff20a', '\t1'])
      expect(csvRow([text])).toBe(`'${text}\r\n`)
    for (const text of ['\r=1', '\n=1', ' \n-1']) expect(csvRow([text])).toBe(`"'${text}"\r\n`)
  })
})

describe('A file of an answer', () => {
  let asking: Asking
  let house: Listening
  let role: Role = 'quality'
  let wait = 0
  const noted: Deed[] = []
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY)
    const files = fileListener({
      schema: asking.schema,
      whoSends: async () => someone(role),
      context: (who) => asking.context(new Map(), who),
      budget: () => wait,
      noted: (deed) => noted.push(deed),
    })
    house = await listen({ host: '127.0.0.1', port: 0 }, [files], (error) => {
      throw error
    })
  })
  afterAll(async () => {
    await house?.stop()
    await asking?.[Symbol.asyncDispose]()
  })

  const file = (id: string, table: string) =>
    fetch(`${house.address}/files/${encodeURIComponent(id)}/${table}.csv`)
  const reach = async () => {
    const source = `{ reach(from: {things: ["pour:P-1"]}, affected: {touched: true}) {
      ... on Reach { id asOf packs(first: 200) { totalCount edges { node { id } expected { value } standing } } } } }`
    return (await asking.ask(source)).reach
  }

  it('has the numbers of the answer, its moment and how many rows', async () => {
    const { id, asOf, packs } = await reach()
    const reply = await file(id, 'packs')
    expect(reply.status).toBe(200)
    expect(reply.headers.get('x-rows')).toBe(String(packs.totalCount))
    expect(Date.parse(reply.headers.get('x-as-of')!)).toBe(Date.parse(asOf))
    expect(reply.headers.get('x-record-version')).toMatch(/^[0-9a-f]{64}$/)
    const [head, ...lines] = (await reply.text()).trimEnd().split('\r\n')
    const columns = head!.split(',')
    expect(lines).toHaveLength(packs.totalCount)
    for (const [i, line] of lines.entries()) {
      const cells = line.split(',')
      const cell = (column: string) => cells[columns.indexOf(column)]
      expect(cell('pack')).toBe(packs.edges[i].node.id)
      expect(Number(cell('expected_castings'))).toBe(packs.edges[i].expected.value)
      expect(cell('standing')).toBe(packs.edges[i].standing)
    }
  })

  it('lists whom to call in a recall', async () => {
    const { id } = await reach()
    const { openRecall } = await asking.ask(
      `mutation ($input: RecallInput!) { openRecall(input: $input) { ... on Published { matter } } }`,
      { input: { reportId: randomUUID(), answer: id, reason: 'cracks', say: 'Send it back.' } },
    )
    const text = await (await file(openRecall.matter, 'calls')).text()
    expect(text).toMatch(/^customer,marks,castings,told_at,castings_answered\r\nHarbor Goods,/)
  })

  it('is not there for what has no such table', async () => {
    const { id } = await reach()
    expect((await file(id, 'heats')).status).toBe(404)
    expect((await file(id, 'calls')).status).toBe(404)
    expect((await file('lot:PI-77', 'packs')).status).toBe(404)
    expect((await file('reach:zzz', 'packs')).status).toBe(404)
    expect((await fetch(`${house.address}/files/%ff%/packs.csv`)).status).toBe(404)
    expect((await fetch(`${house.address}/files/x`, { method: 'POST' })).status).toBe(405)
  })

  it('is only for who may see the answer', async () => {
    const { id } = await reach()
    for (const other of ['service', 'analyst', 'station', 'admin'] as const) {
      role = other
      const reply = await file(id, 'packs')
      expect([403, 404]).toContain(reply.status)
      expect(await reply.text()).not.toContain('pack:K')
    }
    role = 'quality'
    expect(noted.map(({ decision }) => decision)).toContain('refused: 403')
  })

  it('is written down with who took it, and not given to those who ask too much', async () => {
    const { id, packs } = await reach()
    await (await file(id, 'packs')).text()
    expect(noted.at(-1)).toMatchObject({
      ...{ subject: QUALITY.subject, what: 'file packs', rows: packs.totalCount },
      decision: 'answered',
    })
    wait = 7
    const reply = await file(id, 'packs')
    expect([reply.status, reply.headers.get('retry-after')]).toEqual([429, '7'])
    wait = 0
  })
})
