import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { expect, onTestFinished, test, vi } from 'vitest'
import type { Listener } from '../../services/query/server/http.ts'
import { DoorsAsked, type Waiting, waitingListener } from '../../services/serve/at-doors.ts'

/** Answers where it listens. */
async function listen(listener: Listener): Promise<string> {
  const server = createServer(async (request, response) => {
    if (!(await listener(request, response))) response.writeHead(404).end()
  })
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  onTestFinished(() => {
    server.closeAllConnections()
    server.close()
  })
  return `http://127.0.0.1:${(server.address() as AddressInfo).port}`
}

const nonsense: Listener = (_, response) => {
  response.end('{"melt":"none"}')
  return true
}

const door = (waiting: Record<string, number>) =>
  listen(waitingListener(async (): Promise<Waiting> => new Map(Object.entries(waiting))))

test('what waits at several doors is summed by station', async () => {
  const doors = [await door({ melt: 3, pour: 0 }), await door({ melt: 2, ship: 7 })]
  const here = { waiting: async () => new Map([['pour', 1]]), all: false }
  expect(await new DoorsAsked(doors, here).ask()).toEqual({
    waiting: new Map([
      ['pour', 1],
      ['melt', 5],
      ['ship', 7],
    ]),
    unheard: [],
  })
})

test('without the address of any door it is not known, unless all doors are here', async () => {
  const here = (all: boolean) => ({ waiting: async () => new Map<string, number>(), all })
  expect((await new DoorsAsked([]).ask()).unheard).toEqual([
    'no doors are named that could be asked (HEAT_TO_PAN_DOORS)',
  ])
  expect((await new DoorsAsked([], here(false)).ask()).unheard).toHaveLength(1)
  expect((await new DoorsAsked([], here(true)).ask()).unheard).toEqual([])
})

test.for([
  ['is not there', async (): Promise<string> => 'http://127.0.0.1:9'],
  ['is none', (): Promise<string> => listen(async () => false)],
  ['answers something else', (): Promise<string> => listen(nonsense)],
] as const)('a door that %s is named, and the others count', async ([, other]) => {
  const address = await other()
  expect(await new DoorsAsked([await door({ melt: 3 }), address]).ask()).toEqual({
    waiting: new Map([['melt', 3]]),
    unheard: [`the door at ${address} does not answer`],
  })
})

test('a door that hangs is waited for once, and heard when it answers again', async () => {
  let hangs = true
  const answer = waitingListener(async () => new Map([['melt', 1]]))
  const address = await listen(async (request, response) => {
    await vi.waitUntil(() => !hangs, { timeout: 20_000 })
    return answer(request, response)
  })
  const doors = new DoorsAsked([address])
  expect((await doors.ask()).unheard).toHaveLength(1)
  const began = performance.now()
  for (let i = 0; i < 20; i++) expect((await doors.ask()).unheard).toHaveLength(1)
  expect(performance.now() - began).toBeLessThan(500)
  hangs = false
  await vi.waitFor(async () => expect((await doors.ask()).unheard).toEqual([]), 10_000)
})
