// News as a page hears them: over a stream that says what came in, and takes up where it broke off.
import { once } from 'node:events'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import type { Who } from '../../services/access/who.ts'
import { type News, newsOf } from '../../services/query/server/news.ts'
import { someone } from './asking.ts'

let now: Map<string, bigint>
let decisions: string[]
let who: Who
let news: News
let address: string
let stop: () => void

beforeEach(async () => {
  now = new Map([
    ['melt/0', 5n],
    ['quality/0', 1n],
  ])
  decisions = []
  who = someone('quality')
  news = newsOf({
    whoSends: async () => who,
    // As a record that is followed: always the same map.
    positions: async () => now,
    decided: async (_, since, most) => {
      const from = Number(since.get('quality/0')) - 1
      return decisions.slice(from, from + most).map((sentence) => ({ sentence, at: 'then' }))
    },
    failed: (error) => expect.unreachable(String(error)),
    everyMs: 5,
  })
  const server = createServer(
    (request, response) =>
      void (async () => (await news.listener(request, response)) || response.end())(),
  )
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/news`
  stop = () => {
    news.hangUp()
    server.close()
    server.closeAllConnections()
  }
})
afterEach(() => stop())

/** A stream as it comes in. */
async function listenTo(id?: string) {
  const headers: Record<string, string> = id === undefined ? {} : { 'last-event-id': id }
  const response = await fetch(address, { headers })
  const heard = {
    status: response.status,
    type: response.headers.get('content-type'),
    text: '',
    ended: false,
  }
  const reading = (async () => {
    for await (const part of response.body!.pipeThrough(new TextDecoderStream())) heard.text += part
    heard.ended = true
  })()
  reading.catch(() => undefined)
  return heard
}

const lastId = ({ text }: { text: string }) => [...text.matchAll(/^id: (.+)$/gm)].at(-1)![1]!

test('say that reports came in, and what was decided, to those who decide', async () => {
  const quality = await listenTo()
  expect([quality.status, quality.type]).toEqual([200, 'text/event-stream; charset=utf-8'])
  who = someone('service')
  const service = await listenTo()
  await vi.waitFor(() => expect(service.text).toContain('id: '))
  now.set('melt/0', 8n).set('melt/1', 2n)
  await vi.waitFor(() =>
    expect(quality.text).toContain('event: reports\ndata: {"reports":{"melt":5}}'),
  )
  decisions.push('Hold on pack:K-1 for Harbor Goods.')
  now.set('quality/0', 2n)
  await vi.waitFor(() => {
    expect(quality.text).toContain(
      'event: decided\ndata: {"count":1,"decisions":[{"sentence":"Hold on',
    )
    expect(service.text).toContain('event: decided\ndata: {"count":1}')
  })
  expect(service.text).not.toContain('Harbor')
})

test('go on from where they broke off, and begin anew where the record did', async () => {
  const first = await listenTo()
  await vi.waitFor(() => expect(first.text).toContain('id: '))
  const id = lastId(first)
  decisions.push('First.', 'Second.')
  now.set('quality/0', 3n)
  const second = await listenTo(id)
  await vi.waitFor(() => expect(second.text).toContain('Second.'))
  expect(second.text.match(/First/g)).toHaveLength(1)
  now = new Map([['melt/0', 1n]])
  const third = await listenTo(id)
  await vi.waitFor(() => expect(third.text).toContain('event: anew'))
  await vi.waitFor(() => expect(second.text).toContain('event: anew'))
})

test.each([
  '',
  'x',
  'W10',
  Buffer.from('[["quality/0","-1"]]').toString('base64url'),
  Buffer.from('[1]').toString('base64url'),
  'A'.repeat(7_000),
])('take the id %j of nobody for a beginning', async (id) => {
  const heard = await listenTo(id)
  await vi.waitFor(() => expect(heard.text).toContain('id: '))
  expect(heard.text).not.toContain('event: decided')
})

test('end with the token, are only so many for one, and end when the house does', async () => {
  const some = await Promise.all(Array.from({ length: 20 }, () => listenTo()))
  expect(some.every(({ status }) => status === 200)).toBe(true)
  expect((await listenTo()).status).toBe(503)
  who = { ...someone('analyst'), untilMs: Date.now() + 50 }
  const short = await listenTo()
  await vi.waitFor(() => expect(short.ended).toBe(true))
  news.hangUp()
  await vi.waitFor(() => expect(some.every(({ ended }) => ended)).toBe(true))
  who = someone()
  expect((await listenTo()).status).toBe(403)
  expect((await fetch(address, { method: 'POST' })).status).toBe(405)
})
