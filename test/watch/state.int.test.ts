import { once } from 'node:events'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { beforeEach, expect, test } from 'vitest'
import type { Facts } from '../../services/watch/journal.ts'
import { Measures } from '../../services/watch/measures.ts'
import { measureProcess } from '../../services/watch/process.ts'
import { requestListener } from '../../services/watch/requests.ts'
import { stateListener, type Watched } from '../../services/watch/state.ts'

let house: string
let door: { trouble: string[]; notes: string[]; broken?: string }
let lines: [string, Facts][]

beforeEach(async () => {
  door = { trouble: [], notes: [] }
  lines = []
  const watched: Watched[] = [
    { troubles: () => door.trouble, notes: () => door.notes, broken: () => door.broken },
    { troubles: () => [] },
  ]
  const silent = () => undefined
  const note = (sentence: string, facts: Facts = {}) => lines.push([sentence, facts])
  const measures = new Measures()
  measureProcess(measures)
  const before = requestListener({ tell: silent, warn: silent, alarm: silent, note }, measures)
  const state = stateListener(watched, measures)
  const server = createServer(async (request, response) => {
    before(request, response)
    if (!(await state(request, response))) response.writeHead(202).end()
  })
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  house = `http://127.0.0.1:${(server.address() as AddressInfo).port}`
  return () => {
    server.close()
    server.closeAllConnections()
  }
})

async function ask(path: string, init?: RequestInit) {
  const response = await fetch(house + path, init)
  return { status: response.status, body: JSON.parse((await response.text()) || 'null') }
}

test('a process that works says so, and what is not as it should be beside it', async () => {
  expect(await ask('/health')).toEqual({ status: 200, body: { status: 'up' } })
  expect(await ask('/ready')).toEqual({ status: 200, body: { status: 'ready' } })
  door.notes = ['The brokers are away.']
  expect(await ask('/ready')).toEqual({
    ...{ status: 200, body: { status: 'ready', notes: ['The brokers are away.'] } },
  })
  expect(await ask('/ready', { method: 'HEAD' })).toEqual({ status: 200, body: null })
})

test('one that cannot work just now is alive and not ready, with the reasons', async () => {
  door.trouble = ['The disk is full.']
  expect(await ask('/ready')).toEqual({
    ...{ status: 503, body: { status: 'not ready', reasons: ['The disk is full.'] } },
  })
  expect((await ask('/health')).status).toBe(200)
})

test('one that waiting does not cure is not alive', async () => {
  door.broken = 'This is not the log it has read.'
  expect(await ask('/health')).toEqual({
    ...{ status: 503, body: { status: 'broken', reasons: ['This is not the log it has read.'] } },
  })
})

test('its state is asked and never told', async () => {
  const response = await fetch(house + '/ready', { method: 'POST' })
  expect([response.status, response.headers.get('allow')]).toEqual([405, 'GET, HEAD'])
})

test('every request is noted with its trace, counted and timed; asking how it is, is not', async () => {
  const traceparent = '00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01'
  await fetch(house + '/events?x=1', { method: 'POST', headers: { traceparent } })
  await fetch(house + '/report/melt.heat-tapped', { method: 'POST' })
  await fetch(house + '/ready')
  const metrics = await (await fetch(house + '/metrics')).text()
  expect(lines.map(([sentence]) => sentence)).toEqual([
    'POST /events 202',
    'POST /report/melt.heat-tapped 202',
  ])
  const [first, second] = lines.map(([, facts]) => facts)
  expect(first).toMatchObject({
    ...{ method: 'POST', path: '/events', status: 202 },
    ...{ trace_id: '4bf92f3577b34da6a3ce929d0e0e4736', parent_span_id: '00f067aa0ba902b7' },
  })
  expect(second?.trace_id).toMatch(/^[0-9a-f]{32}$/)
  expect(second?.parent_span_id).toBeUndefined()
  expect(metrics).toContain('heat_to_pan_request_seconds_count{path="/events",status="202"} 1')
  expect(metrics).toContain('heat_to_pan_request_seconds_count{path="/report/",status="202"} 1')
  expect(metrics).toMatch(/^process_resident_memory_bytes \d{8,}$/m)
  expect(metrics).not.toContain('/ready')
})
