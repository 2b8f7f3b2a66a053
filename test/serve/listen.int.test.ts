import { request } from 'node:http'
import { expect, onTestFinished, test } from 'vitest'
import { listen } from '../../services/query/server/http.ts'

/** The status of a request under the name of somebody else. */
async function asked(host: string, path: string): Promise<number> {
  const answer = (response: { end(): unknown }) => {
    response.end()
    return true
  }
  const house = await listen(
    { host, port: 0 },
    [(_, response) => answer(response)],
    () => undefined,
  )
  onTestFinished(() => house.stop())
  const { port } = new URL(house.address)
  return new Promise((done, failed) => {
    const headers = { host: `10.1.2.3:${port}` }
    request({ host: '127.0.0.1', port, path, headers, agent: false }, (response) => {
      response.resume()
      done(response.statusCode!)
    })
      .on('error', failed)
      .end()
  })
}

test('a process open to its network tells by any name how it is, and nothing else', async () => {
  expect(await asked('0.0.0.0', '/health')).toBe(200)
  expect(await asked('0.0.0.0', '/ready')).toBe(200)
  expect(await asked('0.0.0.0', '/metrics')).toBe(200)
  expect(await asked('0.0.0.0', '/graphql')).toBe(403)
  expect(await asked('0.0.0.0', '/events')).toBe(403)
})

test('one on the loopback tells nothing by another name', async () => {
  for (const path of ['/health', '/ready', '/metrics', '/graphql'])
    expect(await asked('127.0.0.1', path)).toBe(403)
})
