import { hash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { Ajv } from 'ajv'
import formats from 'ajv-formats'
import { describe, expect, it } from 'vitest'
import {
  claimOf,
  describeReport,
  EVENT_TYPES,
  factsOf,
  read,
} from '../../services/events/catalog.ts'
import { decode, encode } from '../../services/events/envelope.ts'
import { schemaOf } from '../../services/events/json-schema.ts'
import { EDITION } from '../../services/events/projection-version.ts'
import { accepted, bytesOf, GOLDENS, RECORDED } from './example.ts'

const ajv = formats.default(new Ajv({ allErrors: true }))

describe('Golden events', () => {
  it('hold at least one of every type', () => {
    const types = new Set(GOLDENS.map(([, { event }]) => event.type))
    expect(EVENT_TYPES.map(({ type }) => type).filter((type) => !types.has(type))).toEqual([])
  })

  it.each(GOLDENS)('%s comes to its claim, facts, flags and sentence', (_, golden) => {
    const { statement, data, flags } = accepted(
      decode(bytesOf(golden.event), {
        topic: golden.event.type.split('.')[0]!,
        recorded: RECORDED,
      }),
    )
    const { about, rank, joins, void: voids, slot, from, until } = claimOf(statement, data)
    const claim = { about, rank, joins, void: voids, slot, from, until }
    expect(JSON.parse(JSON.stringify(claim))).toEqual(golden.claim)
    expect(factsOf(statement, data)).toEqual(golden.facts)
    expect(flags).toEqual(golden.flags)
    expect(describeReport(statement)).toBe(golden.sentence)
  })

  it.each(GOLDENS)('%s is the same statement once it went through the log', (_, golden) => {
    const said = accepted(decode(bytesOf(golden.event), { recorded: RECORDED }))
    const heard = accepted(decode(encode(said.statement), { topic: said.statement.station }))
    expect(heard).toEqual(said)
    expect(read(heard.statement)).toEqual({
      data: said.data,
      claim: claimOf(said.statement, said.data),
      facts: golden.facts,
      flags: golden.flags,
    })
  })

  it.each(GOLDENS)('%s is let through by the published schema', (_, { event }) => {
    const validate =
      ajv.getSchema(event.type) ?? ajv.compile({ $id: event.type, ...published(event.type) })
    validate(event)
    expect(validate.errors ?? []).toEqual([])
  })

  it('come to other facts only under another edition', () => {
    const known = JSON.parse(
      readFileSync(join(import.meta.dirname, '../golden/edition.json'), 'utf8'),
    ) as { edition: number; facts: Record<string, string> }
    const otherwise = GOLDENS.filter(([name, { claim, facts }]) => {
      const digest = hash('sha256', JSON.stringify([claim, facts]), 'hex').slice(0, 16)
      return known.facts[name] !== digest
    })
    // Golden facts are never changed under one edition, only added to: raise EDITION in
    // projection-version.ts, then write the edition and the new digests into edition.json.
    expect([known.edition, otherwise.map(([name]) => name)]).toEqual([EDITION, []])
  })
})

describe('The published schema', () => {
  it.each(EVENT_TYPES.map((type) => [type.type, type] as const))(
    'of %s is as its declaration says',
    (name, type) => {
      expect(published(name)).toEqual(schemaOf(type))
    },
  )

  const schema = schemaOf(EVENT_TYPES.find(({ type }) => type === 'melt.heat-tapped.v1')!)
  const validate = formats.default(new Ajv()).compile(schema)
  const tapped = GOLDENS.find(([name]) => name === 'melt.heat-tapped.v1 1')![1].event

  it('lets unknown fields through, at every depth', () => {
    const kg = { value: 3, unit: 'KGM', clerk: 'x' }
    expect(validate({ ...tapped, data: { ...tapped.data, later: 1, kg } })).toBe(true)
  })

  it.each([
    ['a negative weight', { kg: -1 }],
    ['a weight in a unit of temperature', { kg: { value: 3, unit: 'CEL' } }],
    ['an id with a colon', { heat: 'a:b' }],
    ['a text for a number', { tap: 'one' }],
    ['a moment without offset', undefined],
  ])('refuses %s', (_, data) => {
    const event = data
      ? { ...tapped, data: { ...tapped.data, ...data } }
      : { ...tapped, time: '2026-03-02' }
    expect(validate(event)).toBe(false)
  })

  it('refuses an event that lacks what must be there', () => {
    const { heat: _, ...data } = tapped.data
    expect(validate({ ...tapped, data })).toBe(false)
  })
})

function published(type: string): object {
  const file = join(import.meta.dirname, '../../schema/events', `${type}.json`)
  return JSON.parse(readFileSync(file, 'utf8')) as object
}
