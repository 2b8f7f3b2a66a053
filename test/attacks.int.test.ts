// Attacks on a house, group by group: each is refused or comes to nothing, is written down, and the house
// goes on telling how it is while it lasts.
import { createHmac } from 'node:crypto'
import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { chainOf } from '../services/access/audit.ts'
import { Attacked, codesOf, type Reply, type Sending } from './attacks.ts'
import { startHouse } from './serve/processes.ts'

/** The health of a process may take so long to tell. Unit: ms. */
const HEALTH_MS = 250
/** An attack that holds the house up does so each time; another process on this machine does not. */
const TRIES = 4

let running: Awaited<ReturnType<typeof startHouse>>
let house: Attacked

beforeAll(async () => {
  running = await startHouse({ HEAT_TO_PAN_PLANT: 'https://foundry.example/plant/main' })
  house = await Attacked.at(await running.address)
  const taps = Array.from({ length: 20 }, (_, i) => JSON.stringify(event(i)))
  expect((await report(taps.join('\n'))).status).toBe(202)
})
afterAll(() => running?.end())

function event(n: number, over: object = {}) {
  return {
    ...{ specversion: '1.0', id: `e-${n}`, type: 'receive.lot-received.v1' },
    source: 'https://foundry.example/plant/main/receive/gate',
    time: '2026-03-02T06:40:00-06:00',
    data: { lot: `L-${n}`, material: 'pig iron', kg: 100, supplier: 'Somebody' },
    ...over,
  }
}

function report(body: string | Buffer, headers: Sending['headers'] = {}): Promise<Reply> {
  const usual = { 'content-type': 'application/x-ndjson', authorization: house.header('station') }
  return house.send('/events', { headers: { ...usual, ...headers }, body })
}

const many = (count: number, part: (i: number) => string) =>
  Array.from({ length: count }, (_, i) => part(i)).join(' ')

const get =
  (query: string, headers = {}) =>
  () =>
    house.send(`/graphql?query=${encodeURIComponent(query)}`, {
      ...{ method: 'GET', headers: { 'content-type': undefined, ...headers } },
    })
const asking = (query: string, variables?: unknown) => () => house.ask(query, variables)
const posting =
  (body: string | Buffer, headers: Sending['headers'] = {}) =>
  () =>
    house.send('/graphql', { headers, body })
const QUESTION = '{ reportsIn { verdict } }'
const question = JSON.stringify({ query: QUESTION })

const TOO_MUCH = [400, 'TOO_MUCH']
const UNPARSED = [400, 'GRAPHQL_PARSE_FAILED']
const INVALID = [400, 'GRAPHQL_VALIDATION_FAILED']
const UNFIT = [400, 'BAD_USER_INPUT']

type Attack = [name: string, send: () => Promise<Reply>, outcome: readonly (number | string)[]]

const SHAPES: Attack[] = [
  [
    'deep nesting',
    asking(
      `{ packs { edges { node { ${'sources { of { ... on Pack { '.repeat(9)} id ${'} } }'.repeat(9)} } } } }`,
    ),
    TOO_MUCH,
  ],
  [
    'lists in lists',
    asking(
      '{ packs(first: 200) { edges { node { pans(first: 200) { edges { node { id } } } } } } }',
    ),
    TOO_MUCH,
  ],
  ['3,000 aliases', asking(`{ ${many(3_000, (i) => `a${i}:__typename`)} }`), UNPARSED],
  ['31 aliases', asking(`{ packs { ${many(31, (i) => `a${i}: totalCount`)} } }`), TOO_MUCH],
  [
    'a fragment in a circle',
    asking('{ ...A } fragment A on Query { ...B } fragment B on Query { ...A }'),
    INVALID,
  ],
  [
    'fragments that double 30 times',
    asking(
      `{ ...F0 } ${many(30, (i) => `fragment F${i} on Query { ...F${i + 1} ...F${i + 1} }`)} fragment F30 on Query { packs { totalCount } }`,
    ),
    TOO_MUCH,
  ],
  [
    'what is deep by named and by inline fragments',
    asking(
      `{ packs { edges { node { ...A } } } } fragment A on Pack { ${'sources { of { ... on Pack { ...B } } }'} } fragment B on Pack { ${'sources { of { ... on Pack { '.repeat(5)} ...C ${'} } }'.repeat(5)} } fragment C on Pack { sources { of { ... on Pack { sources { of { id } } } } } }`,
    ),
    TOO_MUCH,
  ],
  [
    '20,000 repeated fields',
    asking(`{ packs { ${many(20_000, () => 'totalCount')} } }`),
    [413, 'TOO_MUCH'],
  ],
  ['1,900 repeated fields', asking(`{ packs { ${many(1_900, () => 'totalCount')} } }`), INVALID],
  [
    'repeated fields in fragments that overlap',
    asking(
      `{ ${many(110, (i) => `...F${i}`)} } ${many(110, (i) => `fragment F${i} on Query { packs { totalCount } }`)}`,
    ),
    TOO_MUCH,
  ],
  [
    '5,000 directives',
    asking(`{ packs { totalCount ${many(5_000, () => '@skip(if: false)')} } }`),
    [413, 'TOO_MUCH'],
  ],
  [
    'eleven questions at once',
    asking(`{ ${many(11, (i) => `a${i}: packs { totalCount }`)} }`),
    TOO_MUCH,
  ],
  ['a batch', posting(`[${question},${question}]`), [400, 'BAD_REQUEST']],
  ['no end of brackets', asking('{'.repeat(30_000)), UNPARSED],
  ['a JSON of brackets', posting('['.repeat(60_000)), [400, 'BAD_REQUEST']],
]

const VALUES: Attack[] = [
  ...['201', '0', '-5'].map(
    (first): Attack => [
      `a page of ${first}`,
      asking(`{ packs(first: ${first}) { totalCount } }`),
      UNFIT,
    ],
  ),
  ...['9007199254740993', '1.5', '"20"', 'null', '1e3'].map(
    (first): Attack => [
      `a page of ${first}`,
      asking(`{ packs(first: ${first}) { totalCount } }`),
      INVALID,
    ],
  ),
  [
    'a page beyond all numbers by a variable',
    asking('query($f: Int!) { packs(first: $f) { totalCount } }', { f: 2 ** 53 }),
    UNFIT,
  ],
  ...[
    'abc',
    Buffer.from('["packs",1,"1; drop table fact"]').toString('base64url'),
    Buffer.from('["lots",1,2]').toString('base64url'),
    'x'.repeat(9_000),
  ].map(
    (after): Attack => [
      `the cursor ${after.slice(0, 30)}`,
      asking(`{ packs(after: "${after}") { totalCount } }`),
      [400, 'BAD_CURSOR'],
    ],
  ),
  ...[
    "' or 1=1 --",
    "lot:x'; drop table fact; --",
    'lot:%',
    'lot:_',
    '$1',
    '{"$gt":""}',
    '__proto__',
    'constructor',
  ].map(
    (id): Attack => [
      `the id ${id}`,
      asking('query($id: ID!) { node(id: $id) { id } }', { id }),
      [200],
    ],
  ),
  ...[
    "'; select pg_sleep(9); --",
    '%%%',
    '((((((((((a+)+)+)+)+)+)+)+)+)+)$',
    `${'a?'.repeat(49)}b`,
    '????',
  ].map(
    (mark): Attack => [
      `the mark ${mark.slice(0, 30)}`,
      asking('query($mark: String!) { origins(of: {mark: $mark}) { __typename } }', { mark }),
      [200],
    ],
  ),
  [
    'a scan of 60,000 signs',
    asking('query($scan: String!) { origins(of: {scan: $scan}) { __typename } }', {
      scan: '(01)'.repeat(15_000),
    }),
    [200],
  ],
  ['a zero byte', asking('{ lots(material: "pig\\u0000iron") { totalCount } }'), UNFIT],
  [
    'variables that would be prototypes',
    posting(
      `{"query":"${QUESTION}","variables":{"__proto__":{"polluted":1},"constructor":{"prototype":{"polluted":1}}}}`,
    ),
    [200],
  ],
  ['the same key twice', posting(`{"query":"{ packs { nothing } }","query":"${QUESTION}"}`), [200]],
]

const TRANSPORT: Attack[] = [
  ['51 MB', posting(Buffer.alloc(51_000_000, 0x20)), [413, 'TOO_MUCH']],
  ['51 MB of reports', () => report(Buffer.alloc(51_000_000, 0x20)), [413, 'Payload Too Large']],
  [
    'a packed bomb',
    posting(gzipSync(Buffer.alloc(20_000_000)), { 'content-encoding': 'gzip' }),
    [415, 'BAD_REQUEST'],
  ],
  ['UTF-16', posting(Buffer.from(question, 'utf16le')), [400, 'BAD_REQUEST']],
  [
    'UTF-16 that says so',
    posting(Buffer.from(question, 'utf16le'), {
      'content-type': 'application/json; charset=utf-16',
    }),
    [400, 'BAD_REQUEST'],
  ],
  ['plain text', posting(question, { 'content-type': 'text/plain' }), [415, 'BAD_REQUEST']],
  [
    'a form',
    posting('query=x', { 'content-type': 'application/x-www-form-urlencoded' }),
    [415, 'BAD_REQUEST'],
  ],
  [
    'parts of a form',
    posting('--x', { 'content-type': 'multipart/form-data; boundary=x' }),
    [415, 'BAD_REQUEST'],
  ],
  ['no type', posting(question, { 'content-type': undefined }), [415, 'BAD_REQUEST']],
  ['a question by GET from the page of another site', get(QUESTION), [400, 'BAD_REQUEST']],
  ['a change by GET', get('mutation { __typename }', { 'apollo-require-preflight': '1' }), [405]],
  ['a foreign origin', posting(question, { origin: 'https://evil.example' }), [403, 'FORBIDDEN']],
  ['no origin in particular', posting(question, { origin: 'null' }), [403, 'FORBIDDEN']],
  ['a foreign host', posting(question, { host: 'evil.example' }), [403, 'FORBIDDEN']],
  ['a host of another port', posting(question, { host: '127.0.0.1:1' }), [403, 'FORBIDDEN']],
  ['another method', () => house.send('/graphql', { method: 'PUT', body: question }), [405]],
]

const PROBES: Attack[] = [
  ['the schema', asking('{ __schema { types { name } } }'), INVALID],
  ['a type of the schema', asking('{ __type(name: "Lot") { name } }'), INVALID],
  ['a near miss of a field', asking('{ pack { id } }'), INVALID],
  ['a near miss of a type', asking('{ node(id: "x") { ... on Lott { id } } }'), INVALID],
  ['a near miss of an argument', asking('{ packs(firs: 1) { totalCount } }'), INVALID],
  ['the page of the demo', () => house.send('/ask', { method: 'GET' }), [404, 'NOT_FOUND']],
  ...['/files/%ff/packs.csv', '/files/x/constructor.csv', '/files/../tokens/quality/packs.csv'].map(
    (path): Attack => [path, () => house.send(path, { method: 'GET' }), [404, 'NOT_FOUND']],
  ),
  ['a file beside', () => house.send('/../package.json', { method: 'GET' }), [404, 'NOT_FOUND']],
]

const part = (said: object) => Buffer.from(JSON.stringify(said)).toString('base64url')

/** Tokens made of a good one, or of nothing. */
function forged(): [name: string, headers: Sending['headers']][] {
  const good = house.header('quality').slice('Bearer '.length)
  const [head, body, signature] = good.split('.') as [string, string, string]
  const claims = JSON.parse(Buffer.from(body, 'base64url').toString())
  const bearer = (token: string) => ({ authorization: `Bearer ${token}` })
  const stolen = createHmac('sha256', 'key').update(`${part({ alg: 'HS256' })}.${body}`)
  return [
    ['none', { authorization: undefined }],
    ['an empty one', { authorization: '' }],
    ['unsigned', bearer(`${part({ alg: 'none' })}.${body}.`)],
    [
      'of another algorithm',
      bearer(`${part({ alg: 'HS256' })}.${body}.${stolen.digest('base64url')}`),
    ],
    [
      'with more roles',
      bearer(`${head}.${part({ ...claims, roles: ['admin', 'quality'] })}.${signature}`),
    ],
    [
      'with a later end',
      bearer(`${head}.${part({ ...claims, exp: claims.exp + 9 })}.${signature}`),
    ],
    ['of 8 kB', bearer('x'.repeat(7_000))],
    ['two at once', { authorization: undefined, Authorization: [`Bearer ${good}`, 'Bearer x'] }],
    ['by a password', { authorization: 'Basic a2ltOmtpbQ==' }],
    [
      'in a cookie twice',
      { authorization: undefined, cookie: `heat-to-pan=${good}; heat-to-pan=x` },
    ],
  ]
}

async function withstands(
  send: () => Promise<Reply>,
  [status, ...codes]: readonly (number | string)[],
) {
  let reply: Reply | undefined
  let health = Number.POSITIVE_INFINITY
  for (let i = 0; i < TRIES && health > HEALTH_MS; i++)
    health = Math.min(
      health,
      await house.healthWhile(async () => {
        reply = await send()
      }),
    )
  expect(health).toBeLessThan(HEALTH_MS)
  const { headers, text } = reply!
  // A sender who is cut off in the middle may never read why.
  if (reply!.status === 0 && status === 413) return
  expect([reply!.status, text.slice(0, 300)]).toEqual([status, expect.anything()])
  expect(String(headers['content-type'] ?? 'application/json')).toMatch(/json/)
  expect(text).not.toMatch(/<html|<!doctype|\n\s+at |node_modules|\.ts:\d|Did you mean/i)
  expect(headers['x-content-type-options']).toBe('nosniff')
  for (const code of codes) expect(codesOf(reply!)).toContain(code)
}

describe.each([
  ['Shapes of questions', SHAPES],
  ['Values in questions', VALUES],
  ['Ways of sending', TRANSPORT],
  ['Probing', PROBES],
])('%s', (_, attacks) => {
  it.each(attacks)('%s', (_name, send, outcome) => withstands(send, outcome))
})

describe('Who is who', () => {
  it('forged tokens let nobody in, to ask or to report', async () => {
    for (const [name, headers] of forged())
      for (const path of ['/graphql', '/events', '/news', '/session']) {
        const isRead = path === '/news' || path === '/session'
        const reply = await house.send(path, {
          ...{ method: isRead ? 'GET' : 'POST', headers: headers ?? {} },
          ...(isRead ? {} : { body: question }),
        })
        expect([name, path, reply.status]).toEqual([name, path, 401])
        expect(reply.headers['www-authenticate']).toMatch(/^Bearer/)
      }
  })

  it('a station speaks for itself, and people do not report', async () => {
    const line = JSON.stringify(event(900))
    const asQuality = { authorization: house.header('quality') }
    expect((await report(line, asQuality)).status).toBe(403)
    const foreign = { source: 'https://foundry.example/plant/south/receive/gate' }
    expect(codesOf(await report(JSON.stringify(event(901, foreign))))).toEqual(['FORGED'])
    const other = { source: 'https://foundry.example/plant/main/melt/f1' }
    expect(codesOf(await report(JSON.stringify(event(902, other))))).toEqual(['FORGED'])
  })

  it('answers alike for what is not theirs and what is not there', async () => {
    const of = async (id: string, role: 'service' | 'analyst') => {
      const { text } = await house.ask(
        `{ node(id: "${id}") { id } }`,
        {},
        {
          headers: { authorization: house.header(role) },
        },
      )
      return text.replaceAll(id, 'ID')
    }
    expect(await of('south/lot:L-1', 'analyst')).toBe(await of('south/lot:NO-SUCH', 'analyst'))
    expect(await of('lot:L-1', 'service')).toBe(await of('lot:NO-SUCH', 'service'))
  })
})

describe('Poisoned reports', () => {
  const poison: [string, string | Buffer, number][] = [
    ['not JSON', '{"a":', 422],
    ['deep JSON', '['.repeat(30_000), 422],
    ['10 MB of one event', `{"id":"${'x'.repeat(7_000_000)}"}`, 422],
    ['numbers that are none', JSON.stringify(event(1)).replace('100', 'NaN'), 422],
    ['a number beyond all', JSON.stringify(event(910)).replace('100', '1e308'), 422],
    ['a number beyond numbers', JSON.stringify(event(911)).replace('100', '1e999'), 422],
    ['half a sign', JSON.stringify(event(912)).replace('L-912', '\\ud800'), 422],
    ['a clock in 1870', JSON.stringify(event(913, { time: '1870-01-01T00:00:00Z' })), 202],
    [
      'a name of a prototype',
      JSON.stringify(event(914)).replace('"lot"', '"__proto__":{"x":1},"lot"'),
      422,
    ],
    [
      'line breaks and colours in a name',
      JSON.stringify(event(915, { id: 'a\r\nb\u001b[31m' })),
      422,
    ],
    [
      'a place in the log it was not read from',
      JSON.stringify(event(916, { replayof: 'receive/0/1' })),
      422,
    ],
  ]
  it.each(poison)('%s', async (_, body, status) => {
    await withstands(() => report(body), [status])
  })

  it('the same number with another content is kept and flagged', async () => {
    await report(JSON.stringify(event(920)))
    const again = { data: { ...event(920).data, kg: 7 } }
    expect((await report(JSON.stringify(event(920, again)))).text).toContain('id-reused')
  })
})

describe('Slow and crooked senders', () => {
  it('are cut off, and nobody else waits', async () => {
    const { host } = new URL(house.address)
    const head = (more: string) => `POST /graphql HTTP/1.1\r\nHost: ${host}\r\n${more}`
    const slowest = await house.healthWhile(() =>
      Promise.all([
        ...Array.from({ length: 50 }, () => house.raw(head('X: '), 600)),
        ...Array.from({ length: 20 }, () =>
          house.raw(head('Content-Length: 500\r\nContent-Type: application/json\r\n\r\n{'), 600),
        ),
      ]),
    )
    expect(slowest).toBeLessThan(HEALTH_MS * 2)
    const twice = head('Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n')
    expect(await house.raw(twice)).toMatch(/^HTTP\/1\.1 400/)
    expect(await house.raw(head(`X: ${'y'.repeat(9_000)}\r\n\r\n`))).toMatch(/^HTTP\/1\.1 431/)
    expect(await house.raw('GET / HTTP/9.9\r\n\r\n')).toMatch(/^HTTP\/1\.1 (400|505)/)
  })
})

describe('Afterwards', () => {
  it('the house tells how it is, without what it is made of', async () => {
    for (const path of ['/health', '/ready']) {
      const { status, text } = await house.send(path, {
        method: 'GET',
        headers: { authorization: undefined },
      })
      expect([path, status]).toEqual([path, 200])
      expect(text).not.toMatch(/\d+\.\d+|version|node|postgres|apollo/i)
    }
  })

  it('news still come, to those who are let in', async () => {
    const headers = { authorization: house.header('analyst') }
    const stop = new AbortController()
    const stream = await fetch(`${house.address}/news`, { headers, signal: stop.signal })
    let heard = ''
    const hearing = (async () => {
      for await (const part of stream.body!.pipeThrough(new TextDecoderStream())) heard += part
    })()
    const taken = await report(JSON.stringify(event(930)))
    expect([taken.status, taken.text]).toEqual([202, expect.anything()])
    await vi.waitFor(
      () => expect(heard).toContain('event: reports\ndata: {"reports":{"receive":1}}'),
      {
        timeout: 20_000,
      },
    )
    stop.abort()
    await hearing.catch(() => undefined)
  })

  it('all of it was written down: by the journal, and by the audit with who it was', async () => {
    const requests = running.lines.filter(({ path }) => path === '/graphql')
    for (const status of [400, 401, 403, 413, 415])
      expect(requests.map((line) => line.status)).toContain(status)
    const folder = join(running.folder, 'audit')
    const [name] = await readdir(folder)
    const chain = chainOf(name!, await readFile(join(folder, name!), 'utf8'))
    expect([chain.broken, chain.lines > 80]).toEqual([undefined, true])
    const text = await readFile(join(folder, name!), 'utf8')
    expect(text).toContain('refused: TOO_MUCH')
    expect(text).toContain('quality@this-machine')
  })

  it('no token and no secret stands in anything it said', async () => {
    const canary = `canary-${'z'.repeat(20)}`
    await house.send('/graphql', { headers: { authorization: `Bearer ${canary}` }, body: question })
    await house.send('/session', {
      headers: { cookie: `heat-to-pan=${canary}`, authorization: undefined },
    })
    await house.ask(`query Name { reportsIn { verdict } }`, { canary })
    const answers = [
      await house.send('/metrics', { method: 'GET' }),
      await house.send('/session', { method: 'GET' }),
    ]
    const folder = join(running.folder, 'audit')
    const files = await Promise.all(
      (await readdir(folder)).map((name) => readFile(join(folder, name), 'utf8')),
    )
    const said = [
      JSON.stringify(running.lines),
      running.errors,
      ...files,
      ...answers.map(({ text }) => text),
    ].join('\n')
    const secrets = ['quality', 'station', 'admin'].map((role) =>
      house.header(role as 'quality').slice(40),
    )
    const key = await readFile(join(running.folder, 'tokens', 'private-key.json'), 'utf8')
    for (const secret of [...secrets, canary, JSON.parse(key).d as string])
      expect(said.includes(secret)).toBe(false)
    expect(said.length).toBeGreaterThan(10_000)
  })
})
