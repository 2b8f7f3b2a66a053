import { mkdtemp, rm, writeFile } from 'node:fs/promises'
import { request } from 'node:http'
import { connect as connectTo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync, gzipSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { Deed } from '../../services/access/audit.ts'
import { budgetOf } from '../../services/access/budget.ts'
import { NotLetIn } from '../../services/access/not-let-in.ts'
import { tokenOf, type WhoSends } from '../../services/access/sign-in.ts'
import { makeSchema } from '../../services/query/schema.ts'
import { assertAskable, byId, documentsIn, idOf } from '../../services/query/server/documents.ts'
import { type Listening, listen } from '../../services/query/server/http.ts'
import { pageListener } from '../../services/query/server/page.ts'
import { type QueryServer, startQuery } from '../../services/query/server/server.ts'
import { sessionListener } from '../../services/query/server/session.ts'
import { Asking, QUALITY } from './asking.ts'
import { DAY } from './small-plant.ts'

interface Reply {
  status: number
  headers: Record<string, string | string[] | undefined>
  text: string
  bytes: Buffer
}

let asking: Asking
let query: QueryServer
let house: Listening
const failures: { id: string; error: unknown }[] = []
let broken = false

beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
  const schema = makeSchema()
  query = await startQuery({
    schema,
    demo: true,
    whoSends,
    context: () => {
      if (broken) throw new Error('secret of the house')
      return asking.context()
    },
    failed: (id, error) => failures.push({ id, error }),
  })
  house = await listen(
    { host: '127.0.0.1', port: 0 },
    [query.listener, sessionListener(whoSends), pageListener(schema)],
    (error) => failures.push({ id: 'listener', error }),
  )
})

afterAll(async () => {
  await house?.stop()
  await query?.stop()
  await asking?.[Symbol.asyncDispose]()
})

function send(
  path: string,
  {
    method = 'POST',
    headers = {},
    body,
    chunked = false,
  }: {
    method?: string
    headers?: Record<string, string>
    body?: string | Buffer
    chunked?: boolean
  } = {},
): Promise<Reply> {
  return new Promise((resolve, reject) => {
    const { hostname, port } = new URL(house.address)
    // An empty header stands for none.
    const sent = { authorization: 'Bearer good', ...headers }
    const given = Object.fromEntries(Object.entries(sent).filter(([, value]) => value !== ''))
    const how = { hostname, port, path, method, headers: given, agent: false }
    const asked = request(how, (response) => {
      const parts: Buffer[] = []
      response.on('data', (part: Buffer) => parts.push(part))
      response.on('end', () => {
        const bytes = Buffer.concat(parts)
        const { headers } = response
        resolve({ status: response.statusCode!, headers, bytes, text: bytes.toString() })
      })
    })
    asked.on('error', reject)
    if (body !== undefined && !chunked) asked.setHeader('content-length', Buffer.byteLength(body))
    if (body !== undefined) asked.write(body)
    asked.end()
  })
}

const json = { 'content-type': 'application/json' }

function ask(source: string, variables: object = {}, headers: Record<string, string> = json) {
  return send('/graphql', { headers, body: JSON.stringify({ query: source, variables }) })
}

function codeOf(reply: Reply): unknown {
  return JSON.parse(reply.text).errors?.[0]?.extensions?.code
}

/** After whatever was tried, the house still answers. */
async function expectUp() {
  const reply = await ask('{ reportsIn { verdict } }')
  expect(reply.status).toBe(200)
  expect(JSON.parse(reply.text).data.reportsIn.verdict).toMatch(/^(WHOLE|WAITING|GAPS)$/)
}

/** As a house does, with a token that is easy to read. */
const whoSends: WhoSends = async (request) => {
  const token = tokenOf(request)
  if (token === 'good') return { ...QUALITY, untilMs: Date.now() + 60_000 }
  throw new NotLetIn('UNAUTHENTICATED', 'The token does not count here.')
}

describe('Signing in', () => {
  const good = { authorization: 'Bearer good' }
  const session = (method: string, headers: Record<string, string> = {}) =>
    send('/session', { method, headers: { authorization: '', ...headers } })

  it('trades a token for a cookie that no script and no other site can use', async () => {
    const reply = await session('POST', good)
    expect(reply.status).toBe(200)
    const cookie = String(reply.headers['set-cookie'])
    expect(cookie).toMatch(/^heat-to-pan=good; Path=\/; HttpOnly; SameSite=Strict; Max-Age=\d\d$/)
    expect(reply.text).not.toContain('good')
    const again = await session('GET', { cookie: cookie.split(';')[0]! })
    expect(JSON.parse(again.text)).toMatchObject({ subject: QUALITY.subject, roles: ['quality'] })
  })

  it('wants a token in the header: a cookie alone renews nothing', async () => {
    const reply = await session('POST', { cookie: 'heat-to-pan=good' })
    expect([reply.status, codeOf(reply)]).toEqual([401, 'UNAUTHENTICATED'])
    expect(reply.headers['set-cookie']).toBeUndefined()
  })

  it('ends when asked to', async () => {
    const reply = await session('DELETE')
    expect([reply.status, String(reply.headers['set-cookie'])]).toEqual([
      204,
      'heat-to-pan=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0',
    ])
    expect((await session('PUT')).headers.allow).toBe('POST, GET, DELETE')
  })

  it('is needed to ask anything', async () => {
    for (const headers of [{}, { authorization: 'Bearer bad' }, { cookie: 'heat-to-pan=bad' }]) {
      const unknown = { ...json, authorization: '', ...headers }
      const reply = await ask('{ reportsIn { verdict } }', {}, unknown)
      expect([reply.status, codeOf(reply)]).toEqual([401, 'UNAUTHENTICATED'])
      expect(reply.headers['www-authenticate']).toMatch(/^Bearer/)
      expect(JSON.parse(reply.text).data).toBeUndefined()
    }
    await expectUp()
  })
})

describe('A question over HTTP', () => {
  it('is answered as JSON, with headers that keep browsers careful', async () => {
    const reply = await ask('{ packs { totalCount } }')
    expect(reply.status).toBe(200)
    expect(JSON.parse(reply.text)).toEqual({ data: { packs: { totalCount: 4 } } })
    expect(reply.headers).toMatchObject({
      'x-content-type-options': 'nosniff',
      'referrer-policy': 'no-referrer',
      'content-security-policy': "default-src 'none'; frame-ancestors 'none'",
    })
  })

  it('speaks the newer media type to those who ask for it, and refuses HTML', async () => {
    const accept = 'application/graphql-response+json'
    const reply = await ask('{ packs { totalCount } }', {}, { ...json, accept })
    expect(reply.headers['content-type']).toContain(accept)
    expect(
      (await ask('{ packs { totalCount } }', {}, { ...json, accept: 'text/html' })).status,
    ).toBe(406)
  })

  it('may come by GET when it says that it is no accident', async () => {
    const path = '/graphql?query=' + encodeURIComponent('{ packs { totalCount } }')
    const bare = await send(path, { method: 'GET' })
    expect([bare.status, codeOf(bare)]).toEqual([400, 'BAD_REQUEST'])
    const meant = await send(path, { method: 'GET', headers: { 'apollo-require-preflight': '1' } })
    expect(meant.status).toBe(200)
  })

  it.each([
    ['broken JSON', 400, 'BAD_REQUEST', { headers: json, body: '{"query": "{ pac' }],
    [
      'JSON that is not UTF-8',
      400,
      'BAD_REQUEST',
      { headers: json, body: Buffer.from([0x22, 0xff, 0x22]) },
    ],
    ['an empty body', 400, 'BAD_REQUEST', { headers: json, body: '' }],
    ['null', 400, 'BAD_REQUEST', { headers: json, body: 'null' }],
    [
      'a batch',
      400,
      'BAD_REQUEST',
      { headers: json, body: '[{"query":"{ packs { totalCount } }"}]' },
    ],
    ['plain text', 415, 'BAD_REQUEST', { headers: { 'content-type': 'text/plain' }, body: '{}' }],
    [
      'a form',
      415,
      'BAD_REQUEST',
      { headers: { 'content-type': 'application/x-www-form-urlencoded' }, body: 'query=1' },
    ],
    ['no type at all', 415, 'BAD_REQUEST', { body: '{}' }],
    [
      'a packed body',
      415,
      'BAD_REQUEST',
      { headers: { ...json, 'content-encoding': 'gzip' }, body: gzipSync('{}') },
    ],
    [
      '70 kB',
      413,
      'TOO_MUCH',
      { headers: json, body: JSON.stringify({ query: ' '.repeat(70_000) }) },
    ],
    [
      '70 kB without saying so',
      413,
      'TOO_MUCH',
      { headers: json, chunked: true, body: JSON.stringify({ query: ' '.repeat(70_000) }) },
    ],
    [
      'words that are no question',
      400,
      'GRAPHQL_PARSE_FAILED',
      { headers: json, body: '{"query":"{ packs {"}' },
    ],
    [
      'a field that is not there',
      400,
      'GRAPHQL_VALIDATION_FAILED',
      { headers: json, body: '{"query":"{ pucks { totalCount } }"}' },
    ],
    [
      'a variable that does not fit',
      400,
      'BAD_USER_INPUT',
      {
        headers: json,
        body: '{"query":"query($f: Int!) { packs(first: $f) { totalCount } }","variables":{"f":"x"}}',
      },
    ],
  ])('that is %s is refused with %i and a code in JSON', async (_, status, code, how) => {
    const reply = await send('/graphql', how)
    expect(reply.headers['content-type']).toMatch(/^application\/(graphql-response\+)?json/)
    expect([reply.status, codeOf(reply)]).toEqual([status, code])
    await expectUp()
  })

  it('has a long answer packed for those who can unpack it, and only for them', async () => {
    const long = '{ __schema { types { name description } } }'
    const plain = await ask(long)
    expect(plain.headers).not.toHaveProperty('content-encoding')
    const packed = await ask(long, {}, { ...json, 'accept-encoding': 'gzip, deflate' })
    expect(packed.headers).toMatchObject({ 'content-encoding': 'gzip', vary: 'accept-encoding' })
    expect(packed.headers['content-length']).toBe(String(packed.bytes.length))
    expect(gunzipSync(packed.bytes).toString()).toBe(plain.text)
    const short = await ask('{ reportsIn { verdict } }', {}, { ...json, 'accept-encoding': 'br' })
    expect(short.headers).not.toHaveProperty('content-encoding')
  })

  it('that decides something comes by POST only', async () => {
    const source = `mutation { recordComplaint(input: {reportId: "once", hurt: false}) {
      __typename } }`
    const posted = await ask(source)
    expect(posted.status).toBe(200)
    expect(JSON.parse(posted.text).data.recordComplaint.__typename).toBe('Refused')
    const path = '/graphql?query=' + encodeURIComponent(source)
    const got = await send(path, { method: 'GET', headers: { 'apollo-require-preflight': '1' } })
    expect([got.status, got.headers.allow]).toEqual([405, 'POST'])
  })

  it('that names another house, or comes from the page of one, is turned away', async () => {
    const body = JSON.stringify({ query: '{ packs { totalCount } }' })
    const named = (headers: Record<string, string>) =>
      send('/graphql', { headers: { ...json, ...headers }, body })
    const port = new URL(house.address).port
    expect((await named({ host: 'evil.example' })).status).toBe(403)
    expect((await named({ host: `evil.example:${port}` })).status).toBe(403)
    expect((await named({ host: '127.0.0.1:1' })).status).toBe(403)
    expect((await named({ origin: 'https://evil.example' })).status).toBe(403)
    expect((await named({ origin: 'null' })).status).toBe(403)
    expect((await named({ host: `localhost:${port}` })).status).toBe(200)
    expect((await named({ origin: `http://localhost:${port}` })).status).toBe(200)
  })

  it('at another address finds nothing there', async () => {
    for (const path of ['/grapqhl', '/graphql/', '//', '/..%2f', '/page.ts', '/page.html']) {
      const reply = await send(path, { method: 'GET' })
      expect([path, reply.status, codeOf(reply)]).toEqual([path, 404, 'NOT_FOUND'])
    }
  })
})

describe('Too much', () => {
  const many = (count: number, part: (i: number) => string) =>
    Array.from({ length: count }, (_, i) => part(i)).join(' ')

  it.each([
    ['10,000 names for one field', `{ ${many(3000, (i) => `a${i}:__typename`)} }`],
    ['20,000 times a field', `{ packs { ${many(2500, () => 'totalCount')} } }`],
    ['5,000 directives', `{ packs { totalCount ${many(900, () => '@skip(if: false)')} } }`],
    ['forty names for one field', `{ packs { ${many(40, (i) => `a${i}: totalCount`)} } }`],
    ['eleven questions', `{ ${many(11, (i) => `a${i}: packs { totalCount }`)} }`],
    [
      'fragments that double each other 25 times',
      `{ ...F0 } ${many(25, (i) => `fragment F${i} on Query { ...F${i + 1} ...F${i + 1} }`)} fragment F25 on Query { packs { totalCount } }`,
    ],
    [
      'fragments in a circle',
      '{ packs { edges { node { ...A } } } } fragment A on Pack { sources { of { ...B } } } fragment B on Pack { sources { of { ...A } } }',
    ],
    [
      'packs of packs of packs',
      `{ packs { edges { node { ${'sources { of { ... on Pack { '.repeat(9)} id ${'} } }'.repeat(9)} } } } }`,
    ],
    ['a page of 201', '{ packs(first: 201) { totalCount } }'],
    ['a page of none', '{ packs(first: 0) { totalCount } }'],
    ['a page of less than none', '{ packs(first: -5) { totalCount } }'],
    ['a page beyond all numbers', '{ packs(first: 9007199254740993) { totalCount } }'],
    ['a page of half a row', '{ packs(first: 1.5) { totalCount } }'],
    [
      'the schema by way of itself',
      `{ __schema { ${'types { fields { type { '.repeat(4)} name ${'} } }'.repeat(4)} } }`,
    ],
    ['a cursor of nobody', '{ packs(after: "abc") { totalCount } }'],
    [
      'a cursor with a sting',
      `{ packs(after: "${Buffer.from('["packs",1,"1; drop table fact"]').toString('base64url')}") { totalCount } }`,
    ],
    ['a zero byte in a name', '{ lots(material: "pig\\u0000iron") { totalCount } }'],
    ['a hundred and one ids', `{ nodes(ids: [${many(101, (i) => `"lot:${i}"`)}]) { id } }`],
  ])('such as %s is refused with 400 or as an error of its field, soon', async (_, source) => {
    const reply = await ask(source)
    expect([
      'BAD_CURSOR',
      'BAD_USER_INPUT',
      'GRAPHQL_PARSE_FAILED',
      'GRAPHQL_VALIDATION_FAILED',
      'TOO_MUCH',
    ]).toContain(codeOf(reply))
    expect(JSON.parse(reply.text).data ?? null).toBe(null)
    await expectUp()
  })

  it('in the path of a slow sender ends with the connection, not with the house', async () => {
    const { hostname, port } = new URL(house.address)
    const socket = connectTo(Number(port), hostname)
    socket.write(
      `POST /graphql HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nAuthorization: Bearer good\r\nContent-Type: application/json\r\nContent-Length: 500\r\n\r\n{`,
    )
    await expectUp()
    socket.destroy()
    await expectUp()
  })
})

describe('What goes wrong on our side', () => {
  it('is told by a number and kept with it, and its words stay inside', async () => {
    broken = true
    const reply = await ask('{ packs { totalCount } }').finally(() => {
      broken = false
    })
    expect(reply.text).not.toContain('secret')
    const { message, extensions } = JSON.parse(reply.text).errors[0]
    expect(extensions.code).toBe('INTERNAL')
    expect(message).toContain(extensions.errorId)
    const kept = failures.find(({ id }) => id === extensions.errorId)
    expect(String(kept?.error)).toContain('secret of the house')
    await expectUp()
  })
})

describe('An answer that takes too long', () => {
  it('is given up with a sentence, and the house goes on', async () => {
    const { promise: never } = Promise.withResolvers<never>()
    const slow = await startQuery({
      schema: makeSchema(),
      demo: true,
      whoSends: async () => QUALITY,
      context: () => ({ ...asking.context(), snapshot: () => never }),
      patienceMs: 20,
      failed: () => undefined,
    })
    const open = await listen({ host: '127.0.0.1', port: 0 }, [slow.listener], () => undefined)
    try {
      const asked = (source: string) =>
        fetch(`${open.address}/graphql`, {
          method: 'POST',
          headers: json,
          body: JSON.stringify({ query: source }),
        })
      const reply = await asked('{ reportsIn { verdict } }')
      expect(reply.status).toBe(503)
      expect(await reply.text()).toContain('TOO_SLOW')
      expect((await asked('{ __typename }')).status).toBe(200)
    } finally {
      await open.stop()
      await slow.stop()
    }
  })
})

describe('The page', () => {
  it('and all it loads comes from this house, under a policy that allows nothing else', async () => {
    const front = await send('/ask', { method: 'GET' })
    expect(front.status).toBe(200)
    const policy = String(front.headers['content-security-policy'])
    expect(policy).toContain("default-src 'none'")
    expect(policy).not.toContain('unsafe')
    const loaded = [...front.text.matchAll(/(?:src|href)="([^"]+)"/g)].map(([, path]) => path!)
    expect(loaded.length).toBeGreaterThan(1)
    for (const path of [...loaded, '/ask/page-questions.js', '/ask/reference.json']) {
      const reply = await send(path, { method: 'GET' })
      expect([path, reply.status]).toEqual([path, 200])
      // What can be asked is shown as text; an address in it is not followed.
      if (path !== '/ask/reference.json')
        expect(reply.text).not.toMatch(/(?:https?:|["'(])\/\/[a-z]/)
    }
    expect(front.text).not.toMatch(/<script>|<style|style=|onclick/)
  })

  it('offers questions that this record answers without an error', async () => {
    // Browser code without types of its own; by its address it is taken as it comes.
    const page = await import(
      new URL('../../services/query/server/page-questions.js', import.meta.url).href
    )
    const known = page.namesFrom(JSON.parse((await ask(page.STARTING_NAMES)).text).data)
    expect(page.QUESTIONS.length).toBeGreaterThan(3)
    for (const { title, question, variables } of page.QUESTIONS) {
      const reply = JSON.parse((await ask(question, variables(known))).text)
      expect({ title, errors: reply.errors }).toEqual({ title, errors: undefined })
    }
  })
})

describe('Outside the demo', () => {
  it('the schema is not told, by introspection or by near misses', async () => {
    const closed = await startQuery({
      schema: makeSchema(),
      demo: false,
      whoSends: async () => QUALITY,
      context: () => asking.context(),
      failed: () => undefined,
    })
    const shut = await listen({ host: '127.0.0.1', port: 0 }, [closed.listener], () => undefined)
    try {
      const asked = (source: string) =>
        fetch(`${shut.address}/graphql`, {
          method: 'POST',
          headers: json,
          body: JSON.stringify({ query: source }),
        }).then((reply) => reply.text())
      expect(await asked('{ __schema { types { name } } }')).toContain('GRAPHQL_VALIDATION_FAILED')
      expect(await asked('{ pucks { totalCount } }')).not.toContain('packs')
      expect((await fetch(shut.address)).status).toBe(404)
    } finally {
      await shut.stop()
      await closed.stop()
    }
  })
})

describe('What one may ask in a while', () => {
  it('is bounded by what it brings, and says when to come again', async () => {
    const noted: Deed[] = []
    const take = budgetOf({ most: 5_000, perSecond: 100, now: () => 0 })
    const scarce = await startQuery({
      ...{ schema: makeSchema(), demo: false, context: () => asking.context() },
      ...{ whoSends: async () => QUALITY, failed: () => undefined, budget: take },
      noted: (deed) => noted.push(deed),
    })
    const open = await listen({ host: '127.0.0.1', port: 0 }, [scarce.listener], () => undefined)
    const asked = (query: string) =>
      fetch(`${open.address}/graphql`, {
        method: 'POST',
        headers: json,
        body: JSON.stringify({ query }),
      })
    try {
      expect(
        (await asked('query First { packs(first: 200) { edges { node { id } } } }')).status,
      ).toBe(200)
      let reply = await asked('{ packs(first: 200) { edges { node { id number kind at } } } }')
      for (let i = 0; i < 9 && reply.status === 200; i++)
        reply = await asked('{ packs(first: 200) { edges { node { id number kind at } } } }')
      expect(reply.status).toBe(429)
      expect((await reply.json()) as object).toMatchObject({
        errors: [{ extensions: { code: 'TOO_OFTEN' } }],
      })
      for (let i = 0; i < 250 && !reply.headers.has('retry-after'); i++)
        reply = await asked('{ nothing }')
      expect([reply.status, Number(reply.headers.get('retry-after'))]).toEqual([429, 1])
    } finally {
      await open.stop()
      await scarce.stop()
    }
    expect(noted[0]).toMatchObject({
      ...{ subject: QUALITY.subject, what: 'question First', rows: 4, decision: 'answered' },
      hash: expect.stringMatching(/^[0-9a-f]{64}$/),
    })
    expect(noted.map(({ decision }) => decision)).toContain('refused: TOO_OFTEN')
  })

  it('is not more than the house can hold in hand', async () => {
    const { promise: gate, resolve } = Promise.withResolvers<void>()
    const slow = await startQuery({
      ...{
        schema: makeSchema(),
        demo: false,
        whoSends: async () => QUALITY,
        mostAtOnce: 3,
        failed: () => undefined,
      },
      context: () => {
        const context = asking.context()
        return { ...context, snapshot: () => gate.then(() => context.snapshot()) }
      },
    })
    const open = await listen({ host: '127.0.0.1', port: 0 }, [slow.listener], () => undefined)
    const body = JSON.stringify({ query: '{ reportsIn { verdict } }' })
    const asked = () => fetch(`${open.address}/graphql`, { method: 'POST', headers: json, body })
    try {
      const turnedAway: (string | null)[] = []
      const replies = Array.from({ length: 8 }, async () => {
        const { status, headers } = await asked()
        if (status === 503) turnedAway.push(headers.get('retry-after'))
        return status
      })
      await vi.waitFor(() => expect(turnedAway.length).toBe(5), { timeout: 10_000 })
      expect(new Set(turnedAway)).toEqual(new Set(['1']))
      resolve()
      const statuses = await Promise.all(replies)
      expect(statuses.filter((status) => status === 200).length).toBe(3)
      expect((await asked()).status).toBe(200)
    } finally {
      await open.stop()
      await slow.stop()
    }
  })
})

describe('A house that was given its questions', () => {
  it('answers those alone, by their hash or as they stand', async () => {
    const schema = makeSchema()
    const folder = await mkdtemp(join(tmpdir(), 'documents-'))
    const file = join(folder, 'documents.json')
    const known = 'query Packs($first: Int! = 5) { packs(first: $first) { totalCount } }'
    await writeFile(file, JSON.stringify({ Packs: known }))
    const given = await documentsIn(file)
    assertAskable(given, schema)
    const documents = { known: byId(given), isAll: true }
    const strict = await startQuery({
      ...{ schema, demo: false, context: () => asking.context(), documents },
      ...{ whoSends: async () => QUALITY, failed: () => undefined },
    })
    const open = await listen({ host: '127.0.0.1', port: 0 }, [strict.listener], () => undefined)
    const asked = async (body: unknown, how: RequestInit = {}) => {
      const init = { method: 'POST', headers: json, body: JSON.stringify(body), ...how }
      const reply = await fetch(`${open.address}/graphql`, init)
      return [reply.status, await reply.text()] as const
    }
    try {
      const [status, text] = await asked({ documentId: idOf(known), variables: { first: 2 } })
      expect([status, JSON.parse(text)]).toEqual([200, { data: { packs: { totalCount: 4 } } }])
      expect((await asked({ query: known }))[0]).toBe(200)
      const others = [
        { query: `${known} ` },
        { documentId: 'sha256:0' },
        { documentId: 'toString' },
      ]
      for (const other of [...others, {}, { documentId: idOf(known).slice(7) }, 7, null])
        expect((await asked(other))[1]).toMatch(/NOT_TRUSTED/)
      const [got, why] = await asked(undefined, { method: 'GET' } as RequestInit)
      expect([got, why]).toEqual([400, expect.stringContaining('NOT_TRUSTED')])
      const both = { documentId: idOf(known), query: '{ lots { totalCount } }' }
      expect((await asked(both))[1]).toBe(
        JSON.stringify({ data: { packs: { totalCount: 4 } } }) + '\n',
      )
    } finally {
      await open.stop()
      await strict.stop()
    }
    await writeFile(file, JSON.stringify({ Pucks: '{ pucks { id } }' }))
    const pucks = await documentsIn(file)
    expect(() => assertAskable(pucks, schema)).toThrow(
      /^The question Pucks cannot be asked: .*pucks/,
    )
    await expect(documentsIn(join(folder, 'none'))).rejects.toThrow(
      /^HEAT_TO_PAN_DOCUMENTS names no file of questions: ENOENT/,
    )
    await rm(folder, { recursive: true })
  })
})
