import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fromFile, Parser } from '@asyncapi/parser'
import { describe, expect, it } from 'vitest'
import { parse } from 'yaml'
import { asyncApi } from '../../services/events/async-api.ts'
import { EVENT_TYPES } from '../../services/events/catalog.ts'
import { STATIONS } from '../../services/events/fact.ts'
import { topicsOf } from '../../services/log/topics.ts'

const FILE = join(import.meta.dirname, '../../schema/asyncapi.yaml')
/** 0 is an error, 1 a warning; the rest is advice. */
const ERROR = 0

describe('The AsyncAPI document', () => {
  it('is read by the public parser without an error, schemas and all', async () => {
    const { document, diagnostics } = await fromFile(new Parser(), FILE).parse()
    expect(diagnostics.filter(({ severity }) => severity === ERROR)).toEqual([])
    const messages = document!.allMessages().all()
    expect(messages.map((message) => message.name()).toSorted()).toEqual(
      EVENT_TYPES.map(({ type }) => type).toSorted(),
    )
    for (const message of messages) {
      expect(message.payload()!.json()).toMatchObject({ title: message.name() })
    }
  })

  it('is found out by the parser where it is broken', async () => {
    const broken = { ...asyncApi([]), operations: { say: { action: 'publish' } } }
    const { diagnostics } = await new Parser().parse(JSON.stringify(broken))
    expect(diagnostics.some(({ severity }) => severity === ERROR)).toBe(true)
  })

  it('names the topics of the log, and on each what its station may say', () => {
    const document = parse(readFileSync(FILE, 'utf8')) as {
      channels: Record<string, { address: string; messages: object }>
    }
    expect(document).toEqual(asyncApi(EVENT_TYPES))
    expect(Object.values(document.channels).map(({ address }) => address)).toEqual(topicsOf())
    for (const station of STATIONS) {
      expect(Object.keys(document.channels[station]!.messages)).toEqual(
        EVENT_TYPES.filter((type) => type.station === station).map(({ type }) => type),
      )
    }
  })
})
