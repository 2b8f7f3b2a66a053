import { once } from 'node:events'
import { createServer, request as httpRequest } from 'node:http'
import { type AddressInfo, connect } from 'node:net'
import { gzipSync } from 'node:zlib'
import { beforeEach, describe, expect, test } from 'vitest'
import { NotLetIn } from '../../services/access/not-let-in.ts'
import { REPORTING, type Who } from '../../services/access/who.ts'
import type { Station } from '../../services/events/fact.ts'
import type { Log } from '../../services/log/log.ts'
import { type Door, openDoor } from '../../services/stations/door.ts'
import { intakeListener } from '../../services/stations/http.ts'
import { eventsIn, newFolder, openLog } from './folders.ts'
import { BAD_EVENTS, decision, PLANT, tap, tapData } from './said.ts'

const STRUCTURED = 'application/cloudevents+json'
const BATCH = 'application/cloudevents-batch+json'
const LINES = 'application/x-ndjson'
const TIME = '2026-03-02T06:40:00-06:00'

let log: Log
let door: Door
let house: string
let sender: Who

beforeEach(async () => {
  log = await openLog(await newFolder())
  door = await openDoor({ log })
  sender = stationOf('main')
  const listener = intakeListener({ door, plantAddress: PLANT, whoSends: async () => sender })
  const server = createServer((request, response) => {
    listener(request, response).then(
      (own) => own || response.writeHead(404).end('someone else'),
      (error) => response.writeHead(500).end(String(error)),
    )
  })
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  house = `http://127.0.0.1:${(server.address() as AddressInfo).port}`
  return async () => {
    server.close()
    server.closeAllConnections()
    await log.close()
  }
})

/** A token of stations of a plant; all of them when none is named. */
function stationOf(plant: string, ...stations: Station[]): Who {
  return {
    ...{ subject: 'a station', roles: new Set(['station'] as const), plant },
    stations: new Set(stations.length > 0 ? stations : REPORTING),
    untilMs: Number.MAX_SAFE_INTEGER,
  }
}

interface Answer {
  status: number
  type: string | null
  headers: Headers
  body: {
    accepted: number
    duplicate: number
    refused: number
    results: { outcome: string; line?: number; class?: string; problems: { sentence: string }[] }[]
    title?: string
    status?: number
    detail?: string
  }
}

async function post(
  path: string,
  type: string,
  body: string | Uint8Array<ArrayBuffer>,
  headers = {},
): Promise<Answer> {
  const response = await fetch(house + path, {
    method: 'POST',
    headers: { 'content-type': type, ...headers },
    body,
  })
  return {
    status: response.status,
    type: response.headers.get('content-type'),
    headers: response.headers,
    body: (await response.json()) as Answer['body'],
  }
}

function expectProblem(answer: Answer, status: number, detail: RegExp): void {
  expect(answer).toMatchObject({ status, type: 'application/problem+json', body: { status } })
  expect(answer.body.title).toMatch(/\w/)
  expect(answer.body.detail).toMatch(detail)
}

const json = JSON.stringify

describe('events', () => {
  test('one event goes in with 202, and sent again it is 200', async () => {
    const first = await post('/events', STRUCTURED, json(tap(1)))
    expect(first).toMatchObject({ status: 202, body: { accepted: 1, refused: 0 } })
    expect(first.body.results[0]).toMatchObject({ outcome: 'accepted', id: 'tap-1', problems: [] })
    const again = await post('/events', STRUCTURED + '; charset=UTF-8', json(tap(1)))
    expect(again).toMatchObject({ status: 200, body: { duplicate: 1, accepted: 0 } })
    expect(await eventsIn(log)).toHaveLength(1)
  })

  test('a batch is answered event by event, with 207 when some were refused', async () => {
    const events = [tap(1), tap(2, { data: tapData(2, { kg: -1 }) }), tap(1), tap(3)]
    const answer = await post('/events', BATCH, json(events))
    expect(answer).toMatchObject({ status: 207, body: { accepted: 2, duplicate: 1, refused: 1 } })
    expect(answer.body.results.map(({ outcome }) => outcome)).toEqual([
      'accepted',
      'refused',
      'duplicate',
      'accepted',
    ])
    expect(answer.body.results[1]!.problems).toEqual([
      { field: 'kg', sentence: 'kg is negative. Give 0 or more.' },
    ])
  })

  test('lines are answered with their numbers, empty ones passed over', async () => {
    const body = `${json(tap(1))}\r\n\n{"broken\n${json(tap(2))}`
    const answer = await post('/events', LINES, body)
    expect(answer.status).toBe(207)
    expect(answer.body.results.map(({ line, outcome }) => [line, outcome])).toEqual([
      [1, 'accepted'],
      [3, 'refused'],
      [4, 'accepted'],
    ])
  })

  test('binary mode takes the attributes from headers', async () => {
    const { data, ...attributes } = tap(1)
    const headers = Object.fromEntries(
      Object.entries(attributes).map(([name, value]) => [`ce-${name}`, String(value)]),
    )
    expect(await post('/events', 'application/json', json(data), headers)).toMatchObject({
      status: 202,
    })
    expect(await post('/events', STRUCTURED, json(tap(1)))).toMatchObject({ status: 200 })
  })

  test('a batch of all there is room for goes in whole', async () => {
    const events = Array.from({ length: 2_000 }, (_, i) => json(tap(i)))
    const answer = await post('/events', LINES, events.join('\n'))
    expect(answer).toMatchObject({ status: 202, body: { accepted: 2_000 } })
    expect(await eventsIn(log)).toHaveLength(2_000)
  })

  test('an empty batch is nothing to complain about', async () => {
    expect(await post('/events', BATCH, '[]')).toMatchObject({ status: 200, body: { results: [] } })
  })
})

describe('bad events', () => {
  for (const { name, text, class: refusal, sentence } of BAD_EVENTS) {
    test(`${name}, alone, is answered with what is wrong`, async () => {
      const answer = await post('/events', STRUCTURED, text)
      if (refusal === 'UNDECODABLE') return expectProblem(answer, 400, sentence)
      expect(answer).toMatchObject({ status: 422, body: { refused: 1, accepted: 0 } })
      expect(answer.body.results[0]!.class).toBe(refusal)
      expect(answer.body.results[0]!.problems[0]!.sentence).toMatch(sentence)
    })

    test(`${name}, among lines, keeps nothing else out`, async () => {
      const answer = await post('/events', LINES, [json(tap(1)), text, json(tap(2))].join('\n'))
      expect(answer).toMatchObject({ status: 207, body: { accepted: 2, refused: 1 } })
      expect(answer.body.results[1]!.problems[0]!.sentence).toMatch(sentence)
    })
  }

  test('an id used again with other content is taken in and flagged', async () => {
    const other = tap(1, { data: tapData(1, { kg: 5 }) })
    const answer = await post('/events', BATCH, json([tap(1), other]))
    expect(answer).toMatchObject({ status: 202, body: { accepted: 2 } })
    expect(answer.body.results[1]).toMatchObject({ flags: ['id-reused'] })
  })

  test('a decision does not come in this way', async () => {
    expect(await post('/events', STRUCTURED, json(decision()))).toMatchObject({ status: 422 })
  })
})

describe('plain reports', () => {
  const data = json(tapData(1))

  test('the data alone is taken in for a machine of the plant', async () => {
    const answer = await post(
      `/report/melt.heat-tapped?machine=furnace-1&time=${encodeURIComponent(TIME)}`,
      'application/json',
      data,
    )
    expect(answer).toMatchObject({ status: 202, body: { accepted: 1 } })
    expect(await eventsIn(log)).toMatchObject([
      {
        source: `${PLANT}/melt/furnace-1`,
        type: 'melt.heat-tapped.v1',
        time: TIME,
        data: tapData(1),
      },
    ])
  })

  test('without an id, the same report twice is one, and another time is another', async () => {
    const report = (time: string) =>
      post(`/report/melt.heat-tapped.v1?machine=f1&time=${time}`, 'application/json', data)
    expect((await report('2026-03-02T06:40:00Z')).status).toBe(202)
    expect((await report('2026-03-02T06:40:00Z')).status).toBe(200)
    expect((await report('2026-03-02T06:41:00Z')).status).toBe(202)
  })

  test('an offset whose plus sign became a space is understood', async () => {
    const answer = await post(
      '/report/melt.heat-tapped?machine=f1&time=2026-03-02T06:40:00+01:00',
      'application/json',
      data,
    )
    expect(answer.status).toBe(202)
    expect((await eventsIn(log))[0]!.time).toBe('2026-03-02T06:40:00+01:00')
  })

  test('who, when and which may stand in headers', async () => {
    const headers = { 'ce-source': `${PLANT}/melt/f9`, 'ce-time': TIME, 'ce-id': 'from-header' }
    expect((await post('/report/melt.heat-tapped', 'application/json', data, headers)).status).toBe(
      202,
    )
    expect(await eventsIn(log)).toMatchObject([{ id: 'from-header', source: `${PLANT}/melt/f9` }])
  })

  test('what was entered in other units is kept as entered', async () => {
    const pounds = tapData(1, { kg: { value: 2000, unit: 'LBR' } })
    await post(`/report/melt.heat-tapped?time=${TIME}`, 'application/json', json(pounds))
    expect((await eventsIn(log))[0]!.data).toEqual(pounds)
  })

  const wrong: [string, string, string, RegExp][] = [
    [
      'an unknown type',
      '/report/melt.heat-tapt?time=x',
      data,
      /Did you mean melt\.heat-tapped\.v1\?/,
    ],
    ['no time', '/report/melt.heat-tapped?machine=f1', data, /time is missing.*offset/],
    ['a misspelt parameter', '/report/melt.heat-tapped?machin=f1', data, /Did you mean machine\?/],
    ['broken JSON', `/report/melt.heat-tapped?time=${TIME}`, '{"heat"', /not JSON/],
    ['an empty body', `/report/melt.heat-tapped?time=${TIME}`, '', /empty/],
  ]
  for (const [name, path, body, detail] of wrong)
    test(`${name} is refused by name`, async () => {
      expectProblem(await post(path, 'application/json', body), 400, detail)
      expect(await eventsIn(log)).toEqual([])
    })

  test('data that is no object is refused like that of an event', async () => {
    const answer = await post(`/report/melt.heat-tapped?time=${TIME}`, 'application/json', '[1]')
    expect(answer.status).toBe(422)
    expect(answer.body.results[0]!.problems[0]!.sentence).toMatch(/data is not an object/)
  })
})

describe('faults of the request', () => {
  test('a body that is no batch, no JSON or no UTF-8 is 400', async () => {
    expectProblem(await post('/events', BATCH, '{"a":1}'), 400, /array/)
    expectProblem(await post('/events', BATCH, '[{"a":1'), 400, /not JSON/)
    expectProblem(await post('/events', BATCH, new Uint8Array([0x22, 0xff, 0x22])), 400, /UTF-8/)
    expectProblem(await post('/events', STRUCTURED, ''), 400, /empty/)
  })

  test('another kind of body is 415, and the answer says which are taken', async () => {
    for (const type of ['text/plain', 'application/json', 'text/csv', 'application/xml']) {
      const answer = await post('/events', type, json(tap(1)))
      expectProblem(answer, 415, /application\/x-ndjson/)
      expect(answer.headers.get('accept-post')).toContain(STRUCTURED)
    }
    expectProblem(await post('/events', STRUCTURED + ';charset=utf-16', json(tap(1))), 415, /UTF-8/)
    expectProblem(
      await post('/report/melt.heat-tapped', 'text/plain', '{}'),
      415,
      /application\/json/,
    )
  })

  test('a packed body is 415, unread', async () => {
    const packed = gzipSync(json(tap(1)))
    const answer = await post('/events', STRUCTURED, new Uint8Array(packed), {
      'content-encoding': 'gzip',
    })
    expectProblem(answer, 415, /not packed/)
  })

  test('another method is 405', async () => {
    for (const [method, path, allowed] of [
      ['GET', '/events', 'POST'],
      ['PUT', '/report/melt.heat-tapped', 'POST'],
    ] as const) {
      const response = await fetch(house + path, { method })
      expect(response.status).toBe(405)
      expect(response.headers.get('allow')).toBe(allowed)
      expect(response.headers.get('content-type')).toBe('application/problem+json')
    }
  })

  test('a body over the limit is 413, whether it says its length or not', async () => {
    const large = ' '.repeat(9 * 1024 * 1024)
    expectProblem(await post('/events', LINES, large), 413, /bytes/)
    const chunked = await fetch(house + '/events', {
      method: 'POST',
      headers: { 'content-type': LINES },
      body: new Blob([large]).stream(),
      duplex: 'half',
    } as RequestInit)
    expect(chunked.status).toBe(413)
    expectProblem(await post('/events', STRUCTURED, ' '.repeat(2 * 1024 * 1024)), 413, /bytes/)
    expect((await post('/events', STRUCTURED, json(tap(1)))).status).toBe(202)
  })

  test('one event over 64 KiB is 413, and as a line it is refused beside the others', async () => {
    const long = json(tap(2, { data: tapData(2, { heat: 'x'.repeat(70_000) }) }))
    expectProblem(await post('/events', STRUCTURED, long), 413, /at most 65536 bytes/)
    const answer = await post('/events', LINES, [json(tap(1)), long, json(tap(3))].join('\n'))
    expect(answer).toMatchObject({ status: 207, body: { accepted: 2, refused: 1 } })
  })

  test('too many events at once are 413', async () => {
    expectProblem(await post('/events', LINES, '1\n'.repeat(10_001)), 413, /10000 events/)
    expectProblem(await post('/events', BATCH, `[${'0,'.repeat(10_001)}0]`), 413, /10000 events/)
  })

  test('a body nested without end is refused and nothing breaks', async () => {
    const deep = '['.repeat(1_000_000) + ']'.repeat(1_000_000)
    const answer = await post('/events', BATCH, deep)
    expect([400, 422]).toContain(answer.status)
    expect((await post('/events', STRUCTURED, json(tap(1)))).status).toBe(202)
  })

  test('too many bytes in hand at once are 429, and later there is room again', async () => {
    const full = ' '.repeat(8 * 1024 * 1024)
    const holding = Array.from({ length: 8 }, () => {
      const request = httpRequest(house + '/events', {
        method: 'POST',
        headers: { 'content-type': LINES, 'content-length': full.length },
      })
      request.on('error', () => undefined)
      request.write('{')
      return request
    })
    const answered = await until(
      () => post('/events', STRUCTURED, json(tap(1))),
      (answer) => answer.status === 429,
    )
    expectProblem(answered, 429, /again/)
    expect(answered.headers.get('retry-after')).toBe('1')
    for (const request of holding) request.destroy()
    const later = await until(
      () => post('/events', STRUCTURED, json(tap(2))),
      (answer) => answer.status !== 429,
    )
    expect(later.status).toBe(202)
  })

  test('a client that breaks off leaves nothing behind', async () => {
    const socket = connect(Number(new URL(house).port), '127.0.0.1')
    socket.write(
      `POST /events HTTP/1.1\r\nhost: house\r\ncontent-type: ${LINES}\r\ncontent-length: 5000\r\n\r\n${json(tap(7))}\n`,
      () => socket.destroy(),
    )
    await once(socket, 'close')
    expect((await post('/events', STRUCTURED, json(tap(1)))).status).toBe(202)
    expect((await eventsIn(log)).map(({ id }) => id)).toEqual(['tap-1'])
  })
})

describe('the trace of a request', () => {
  const traceparent = '00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01'

  test('goes into the log with its events, unless an event has one of its own', async () => {
    const own = '00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-00'
    const events = [tap(1), tap(2, { traceparent: own })].map((event) => json(event)).join('\n')
    await post('/events', LINES, events, { traceparent })
    await fetch(`${house}/report/melt.heat-tapped?time=${TIME}&source=${PLANT}/melt/furnace-1`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', traceparent },
      body: json(tapData(3)),
    })
    const logged = (await eventsIn(log)) as unknown as { id: string; traceparent?: string }[]
    const traces = logged.map((event) => event.traceparent)
    expect(traces.filter((each) => each === traceparent)).toHaveLength(2)
    expect(logged.find(({ id }) => id === 'tap-2')?.traceparent).toBe(own)
  })

  test('is left out when it cannot be read', async () => {
    for (const bad of ['00-1-2-3', traceparent.toUpperCase(), `${traceparent}-x`])
      await post('/events', STRUCTURED, json(tap(1)), { traceparent: bad })
    const [event] = (await eventsIn(log)) as unknown as { traceparent?: string }[]
    expect(event?.traceparent).toBeUndefined()
  })
})

describe('the state of the house', () => {
  test('while it is stopping, everything is 503 and says when to come again', async () => {
    await door.close()
    const answer = await post('/events', STRUCTURED, json(tap(1)))
    expectProblem(answer, 503, /stopping/)
    expect(answer.headers.get('retry-after')).toBe('10')
    expect(door.trouble).toMatch(/stopping/)
  })

  test('when the log cannot be written, nothing is promised', async () => {
    await log.close()
    expectProblem(await post('/events', STRUCTURED, json(tap(1))), 503, /closed/)
    expect(door.trouble).toMatch(/closed/)
  })

  test('other addresses are left to others', async () => {
    for (const path of ['/graphql', '/', '/event', '/reports', '//'])
      expect(await (await fetch(house + path)).text()).toBe('someone else')
  })
})

async function until<T>(ask: () => Promise<T>, fits: (answer: T) => boolean): Promise<T> {
  for (;;) {
    const answer = await ask()
    if (fits(answer)) return answer
  }
}

describe('Who reports', () => {
  const send = (event: object) => post('/events', STRUCTURED, JSON.stringify(event))

  test('is asked first, and turned away without a token of a station', async () => {
    const unknown = new NotLetIn('UNAUTHENTICATED', 'Sign in first.')
    const listener = intakeListener({ door, whoSends: () => Promise.reject(unknown) })
    const server = createServer((request, response) => void listener(request, response))
    server.listen(0, '127.0.0.1')
    await once(server, 'listening')
    house = `http://127.0.0.1:${(server.address() as AddressInfo).port}`
    const answer = await send(tap(1))
    expectProblem(answer, 401, /^Sign in first/)
    expect(answer.headers.get('www-authenticate')).toMatch(/^Bearer/)
    server.close()
    expect(await eventsIn(log)).toEqual([])
  })

  test('must be a station: nobody else reports', async () => {
    sender = { ...stationOf('main'), roles: new Set(['quality', 'admin']) }
    expectProblem(await send(tap(1)), 403, /^Only stations report/)
    expect(await eventsIn(log)).toEqual([])
  })

  test('speaks for itself alone, whatever stands in the source', async () => {
    sender = stationOf('main', 'pour')
    const answer = await send(tap(1))
    expect(answer.status).toBe(422)
    expect(answer.body.results[0]).toMatchObject({ outcome: 'refused', class: 'FORGED' })
    expect(answer.body.results[0]!.problems[0]!.sentence).toBe(
      'source is not who your token says. Report as pour of plant main, or sign in as who you are.',
    )
    sender = stationOf('main', 'melt', 'pour')
    expect((await send(tap(1))).status).toBe(202)
  })

  test('speaks for its own plant', async () => {
    sender = stationOf('south')
    expect((await send(tap(1))).body.results[0]).toMatchObject({ class: 'FORGED' })
    const report = '/report/melt.heat-tapped?time=' + TIME
    expect((await post(report, 'application/json', JSON.stringify(tapData(1)))).status).toBe(422)
    expect(await eventsIn(log)).toEqual([])
  })

  test('makes no decisions', async () => {
    expect((await send(decision())).body.results[0]).toMatchObject({ class: 'FORGED' })
  })
})
