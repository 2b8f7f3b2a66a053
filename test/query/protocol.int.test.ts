// GraphQL over HTTP as its working group checks it: the audits of graphql-http, every one.
import { serverAudits } from 'graphql-http'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { makeSchema } from '../../services/query/schema.ts'
import { type Listening, listen } from '../../services/query/server/http.ts'
import { type QueryServer, startQuery } from '../../services/query/server/server.ts'
import { Asking, QUALITY } from './asking.ts'

let asking: Asking
let query: QueryServer
let house: Listening

beforeAll(async () => {
  asking = await Asking.start()
  // With introspection: two of the audits ask for a type by its name.
  query = await startQuery({
    ...{ schema: makeSchema(), demo: true, context: () => asking.context() },
    ...{ whoSends: async () => QUALITY, failed: () => undefined },
  })
  house = await listen({ host: '127.0.0.1', port: 0 }, [query.listener], () => undefined)
})
afterAll(async () => {
  await house?.stop()
  await query?.stop()
  await asking?.[Symbol.asyncDispose]()
})

// Without these, a browser would send it for a page of another site.
const MEANT = { 'apollo-require-preflight': 'true' }
const audits = serverAudits({
  url: () => `${house.address}/graphql`,
  fetchFn: (url: string, init: RequestInit = {}) =>
    fetch(url, { ...init, headers: { ...MEANT, ...(init.headers as object) } }),
})

/** Advice for clients of old, who read no status: ours tells a request that could not be run by 400. */
const OTHERWISE = new Set([
  'SHOULD use 200 status code on document parsing failure when accepting application/json',
  'SHOULD use 200 status code on document validation failure when accepting application/json',
  'SHOULD use a status code of 200 on variable coercion failure when accepting application/json',
])

describe('GraphQL over HTTP', () => {
  it.each(audits.map((audit) => [audit.name, audit] as const))('%s', async (name, audit) => {
    const result = await audit.fn()
    const reason = result.status === 'ok' ? '' : result.reason
    if (!OTHERWISE.has(name)) expect(reason).toBe('')
  })

  it('is checked whole', () => {
    expect(audits.filter(({ name }) => name.startsWith('MUST')).length).toBeGreaterThan(10)
    expect([...OTHERWISE].every((name) => audits.some((audit) => audit.name === name))).toBe(true)
  })
})
