import { hash, randomUUID } from 'node:crypto'
import { parquetMetadata, parquetReadObjects } from 'hyparquet'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Deed } from '../../services/access/audit.ts'
import type { Role } from '../../services/access/who.ts'
import { csvRow } from '../../services/query/files/csv.ts'
import { fileListener } from '../../services/query/files/files.ts'
import { parquetFile } from '../../services/query/files/parquet.ts'
import type { RecallReport } from '../../services/query/files/recall-report.ts'
import { TABLES } from '../../services/query/files/tables.ts'
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
  let most = Number.POSITIVE_INFINITY
  let mostRows = Number.POSITIVE_INFINITY
  const noted: Deed[] = []
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY)
    const files = fileListener({
      schema: asking.schema,
      whoSends: async () => someone(role),
      context: (who) => asking.context(new Map(), who),
      budget: (_, values) => (values > most ? 9 : wait),
      get mostRows() {
        return mostRows
      },
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

  const file = (id: string, table: string, form = 'csv') =>
    fetch(`${house.address}/files/${encodeURIComponent(id)}/${table}.${form}`)
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
    expect(text).toMatch(
      /^customer,marks,castings,given_to,told_at,castings_answered\r\nHarbor Goods,/,
    )
  })

  const rates = async (by: string) => {
    const source = `{ defectRates(about: {stage: "after bake",
      window: {from: "2026-03-02T00:00:00Z", to: "2026-03-04T00:00:00Z"}}, by: ${by}) {
      ... on Rates { id rows { edges { node { group counted { rate { value } } } } } } } }`
    return (await asking.ask(source)).defectRates
  }

  it.each([
    ['packs of a reach', 'packs', async () => (await reach()).id],
    ['pours of a reach', 'pours', async () => (await reach()).id],
    ['customers of a reach', 'customers', async () => (await reach()).id],
    ['rates, in some of which nothing is compared', 'rates', async () => (await rates('LINE')).id],
    ['rates by two', 'rates', async () => (await rates('[CAVITY, FURNACE]')).id],
  ])('in columns holds the same to the last digit: %s', async (_, table, find) => {
    const id = await find()
    const [csv, parquet] = [await file(id, table), await file(id, table, 'parquet')]
    expect(parquet.headers.get('content-type')).toBe('application/vnd.apache.parquet')
    for (const header of ['x-rows', 'x-as-of', 'x-record-version', 'x-table-edition'])
      expect(parquet.headers.get(header)).toBe(csv.headers.get(header))
    const bytes = await parquet.arrayBuffer()
    const about = parquetMetadata(bytes)
    const kept = Object.fromEntries(about.key_value_metadata!.map(({ key, value }) => [key, value]))
    expect(kept).toMatchObject({
      as_of: csv.headers.get('x-as-of'),
      rows: csv.headers.get('x-rows'),
      record_version: csv.headers.get('x-record-version'),
      table_edition: '1',
    })
    const rows = await parquetReadObjects({ file: bytes })
    expect(rows.length).toBeGreaterThan(0)
    const { columns } = TABLES[table]!
    const cells = rows.map((row) =>
      columns.map(([name]) => (row[name] instanceof Date ? row[name].toISOString() : row[name])),
    )
    const written = csvRow(columns.map(([name]) => name)) + cells.map(csvRow).join('')
    expect(written).toBe(await csv.text())
    // A value that is no number for want of something to compare is empty in both.
    if (table === 'rates' && rows.length === 1) expect(rows[0]!.times).toBeNull()
  })

  it('in columns says of a moment that it is in universal time, and may be empty', async () => {
    const columns = [
      ['at', 'moment', () => null],
      ['told', 'flag', () => null],
      ['name', 'text', () => null],
    ] as const
    const rows = [
      ['2026-03-02T06:40:00.5-06:00', true, '=1'],
      [null, null, null],
    ]
    const bytes = parquetFile({ columns }, rows, {}).slice().buffer
    expect(await parquetReadObjects({ file: bytes })).toEqual([
      { at: new Date('2026-03-02T12:40:00.500Z'), told: true, name: '=1' },
      { at: null, told: null, name: null },
    ])
    expect(parquetMetadata(bytes).schema[1]!.logical_type).toMatchObject({
      ...{ type: 'TIMESTAMP', isAdjustedToUTC: true },
    })
    const none = parquetFile({ columns }, [], { rows: '0' }).slice().buffer
    expect(await parquetReadObjects({ file: none })).toEqual([])
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
      ...{ subject: QUALITY.subject, what: 'file packs.csv', rows: packs.totalCount },
      decision: 'answered',
    })
    wait = 7
    const reply = await file(id, 'packs')
    expect([reply.status, reply.headers.get('retry-after')]).toEqual([429, '7'])
    wait = 0
    most = 100
    expect((await file(id, 'packs')).status).toBe(429)
    most = Number.POSITIVE_INFINITY
  })

  it('is refused whole where it would be too long, and never cut short', async () => {
    const packs = Array.from({ length: 45 }, (_, i) => ({
      type: 'ship.pans-packed.v1',
      time: '2026-03-02T13:40:00-06:00',
      data: {
        ...{ pack: `L-${i}`, marks: ['LONG'] },
        lines: [{ product: 'lid 10', castings: 1, sources: [{ of: 'load:LD-1', castings: 1 }] }],
      },
    }))
    await asking.record.say(...packs)
    const { id } = await reach()
    mostRows = 40
    const reply = await file(id, 'packs')
    mostRows = Number.POSITIVE_INFINITY
    expect(reply.status).toBe(413)
    expect(await reply.text()).toContain('A file may have 40 rows')
  })

  describe('of a recall', () => {
    const report = (id: string, form: string) =>
      fetch(`${house.address}/files/${encodeURIComponent(id)}/report.${form}`)
    const decide = async (name: string, type: string, input: object) => {
      const source = `mutation ($input: ${type}!) { ${name}(input: $input) { __typename ... on Published { matter } ... on Refused { problems { sentence } } } }`
      const answer = await asking.ask(source, { input: { reportId: randomUUID(), ...input } })
      expect(answer[name].__typename).toBe('Published')
      return answer[name].matter as string
    }
    let id: string
    let answer: string
    beforeAll(async () => {
      answer = (await reach()).id
      const reason = 'cracks <script>alert(1)</script>'
      id = await decide('openRecall', 'RecallInput', { answer, reason, say: 'Send it back.' })
      const told = { recall: id, customer: 'Harbor Goods' }
      await decide('giveCalls', 'GiveCallsInput', {
        ...{ recall: id, to: 'may', customers: ['Harbor Goods'] },
      })
      await decide('recordTold', 'ToldInput', told)
      const lines = [{ pack: 'pack:K-1', castings: 3, outcome: 'RETURNED' }]
      await decide('recordAnswer', 'AnswerInput', { ...told, lines })
    })

    it('has its evidence, its clocks with where they come from, and what is not known', async () => {
      const told = (await (await report(id, 'json')).json()) as RecallReport
      expect(told.recall.found.parts).toEqual([{ became: 'RETURNED', castings: 3 }])
      expect(told.recall.clocks.map(({ source }: { source: string }) => source).join()).toMatch(
        /16 CFR 1115\.14\(e\).*ask counsel/,
      )
      expect(told.answers[0]).toMatchObject({ id: answer, since: { joined: 0, left: 0 } })
      const sentences = told.events.map(({ sentence }: { sentence: string }) => sentence).join()
      for (const part of ['Opened recall', 'Gave the call', 'Told customer', 'answered recall'])
        expect(sentences).toContain(part)
      expect(told.recall.found.effectiveness).toBeCloseTo(3 / 12, 9)
      // The hash is that of the file it names.
      for (const { file, sha256, rows } of [told.customers, told.covers]) {
        const reply = await fetch(`${house.address}${file}`)
        expect(reply.headers.get('x-rows')).toBe(String(rows.length))
        expect(hash('sha256', Buffer.from(await reply.arrayBuffer()), 'hex')).toBe(sha256)
      }
    })

    it('is a page to print without script, to which nothing said in it can add any', async () => {
      const reply = await report(id, 'html')
      const page = await reply.text()
      const policy = reply.headers.get('content-security-policy')!
      const style = /<style>([\s\S]*?)<\/style>/.exec(page)![1]!
      expect(policy).toContain(`style-src 'sha256-${hash('sha256', style, 'base64')}'`)
      expect(policy).toMatch(/^default-src 'none';/)
      expect(page).not.toMatch(/<script|style=|<link|<img/)
      expect(page).toContain('cracks &lt;script&gt;alert(1)&lt;/script&gt;')
      for (const part of ['report so far', 'Harbor Goods', '@page', 'ask counsel', answer])
        expect(page).toContain(part)
      await decide('closeRecall', 'CloseInput', {
        recall: id,
        reason: 'the rest was sold long ago',
      })
      const closed = await (await report(id, 'html')).text()
      expect(closed).toContain('Closed because: the rest was sold long ago')
      expect(closed).toMatch(/<h1>Recall R-\w+, closed /)
    })

    it('is for quality, and there is none of anything else', async () => {
      for (const other of ['service', 'analyst', 'station', 'admin'] as const) {
        role = other
        for (const form of ['html', 'json']) {
          const reply = await report(id, form)
          expect([403, 404]).toContain(reply.status)
          expect(await reply.text()).not.toContain('Harbor')
        }
      }
      role = 'quality'
      for (const strange of ['recall:R-0', 'lot:PI-77', answer, 'hold:H-1'])
        expect((await report(strange, 'json')).status).toBe(404)
      expect((await report(id, 'csv')).status).toBe(404)
    })
  })
})
