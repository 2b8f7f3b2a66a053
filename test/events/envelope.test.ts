import { CloudEvent, HTTP, Kafka, type KafkaMessage } from 'cloudevents'
import { describe, expect, it } from 'vitest'
import {
  type Decoded,
  decode,
  decodeBinary,
  decodeEvent,
  EVENT_BYTES,
  encode,
} from '../../services/events/envelope.ts'
import type { JsonObject } from '../../services/events/statement.ts'
import { accepted, atDoor, bytesOf, event, GOLDENS, inLog, RECORDED, tap } from './example.ts'

const refusal = (decoded: Decoded) => (decoded.ok ? 'accepted' : decoded.class)

const times = { startedAt: '2026-03-02T06:50:00-06:00', endedAt: '2026-03-02T07:50:00-06:00' }

describe('At the door', () => {
  it('recordedtime is stamped over what was sent, and time keeps its offset', () => {
    const sent = tap({}, { recordedtime: '1999-01-01T00:00:00Z' })
    const { statement } = accepted(atDoor(sent))
    expect(statement.recorded).toBe(RECORDED)
    expect(statement.time).toBe('2026-03-02T07:50:00-06:00')
    expect(statement.at).toBe(Date.UTC(2026, 2, 2, 13, 50))
  })

  it('the subject is filled in, and the same content has the same hash with and without it', () => {
    const without = accepted(atDoor(tap())).statement
    const within = accepted(atDoor(tap({}, { subject: 'ladle:L1' }))).statement
    expect(without.subject).toBe('ladle:L1')
    expect(within).toEqual(without)
    expect(refusal(atDoor(tap({}, { subject: 'ladle:L2' })))).toBe('SCHEMA')
  })

  it('what was entered is kept as entered, and data comes out in SI', () => {
    const entered = { kg: { value: 2000, unit: 'LBR', how: 'weighed', spread: 20 } }
    const { statement, data } = accepted(atDoor(tap(entered)))
    expect(statement.entered.kg).toEqual(entered.kg)
    expect(data).toMatchObject({
      kg: { value: 907.18474, how: 'weighed', spread: expect.closeTo(9.0718474, 12) as number },
    })
  })

  it('a slip of a known attribute is refused with the nearest name, others travel along', () => {
    const slip = atDoor(tap({}, { suprsedes: 'tap-0' }))
    expect(slip).toMatchObject({ ok: false, class: 'SCHEMA' })
    expect(!slip.ok && slip.reason).toBe(
      'suprsedes is not a known attribute. Did you mean supersedes?',
    )
    const traced = accepted(atDoor(tap({}, { senttime: '2026-03-02T07:50:02Z', casterid: 7 })))
    expect(traced.statement.carried).toEqual({ senttime: '2026-03-02T07:50:02Z', casterid: 7 })
    expect(decode(encode(traced.statement))).toEqual(traced)
  })

  it('an attribute that is not set may stand as null', () => {
    const nulls = tap({}, { subject: null, supersedes: null, entry: null, sequence: null })
    expect(atDoor(nulls)).toEqual(atDoor(tap()))
  })

  it.each([
    ['specversion', '0.3'],
    ['specversion', 1],
    ['id', ''],
    ['id', 7],
    ['id', 'x'.repeat(129)],
    ['id', 'a\u0007b'],
    ['source', ''],
    ['time', '2026-03-02T07:50:00'],
    ['time', 1_772_459_400_000],
    ['type', 'melt.heat-tapped'],
    ['entry', 'phone'],
    ['sequence', -1],
    ['sequence', 1.5],
    ['timespread', 'a while'],
    ['supersedes', 'tap-1'],
    ['datacontenttype', 'application/xml'],
    ['senttime', 'noon'],
    ['BadName', 'x'],
    ['nested', { a: 1 }],
    ['data', 'text'],
    ['data', [1]],
  ])('an attribute %s of %j is refused by name', (name, value) => {
    const decoded = atDoor(tap({}, { [name]: value }))
    expect(refusal(decoded)).toBe('SCHEMA')
    expect(!decoded.ok && decoded.problems.map(({ path }) => path)).toContain(name)
  })

  it.each(['specversion', 'id', 'source', 'type', 'time', 'data'])('%s must be there', (name) => {
    const { [name]: _, ...rest } = tap()
    const decoded = atDoor(rest)
    expect(decoded).toMatchObject({ ok: false, class: 'SCHEMA' })
    expect(!decoded.ok && decoded.reason).toContain(name)
  })

  it('an event from the hour after next is accepted and flagged', () => {
    const { flags } = accepted(atDoor(tap({}, { time: '2026-03-09T22:00:00-06:00' })))
    expect(flags).toEqual(['time is over an hour after the event was taken in'])
  })
})

describe('Who says it', () => {
  it.each([
    ['a type of another station', { type: 'pour.molds-poured.v1' }, undefined],
    ['a source of another station', { source: 'https://a.example/plant/p/pour/F1' }, undefined],
    ['a source of no station', { source: 'https://a.example/plant/p/wash' }, undefined],
    ['a source of no plant', { source: 'https://a.example/melt' }, undefined],
    ['a source that is no address', { source: 'furnace 1' }, undefined],
    ['a source without encryption', { source: 'http://a.example/plant/p/melt' }, undefined],
    ['a plant in capitals', { source: 'https://a.example/plant/P/melt' }, undefined],
    ['a type without station', { type: 'heat-tapped' }, undefined],
    ['a topic of another station', {}, 'pour'],
  ])('is FORGED by %s', (_, attributes, topic) => {
    const how = topic === undefined ? { recorded: RECORDED } : { recorded: RECORDED, topic }
    expect(refusal(decode(bytesOf(tap({}, attributes as JsonObject)), how))).toBe('FORGED')
  })

  it('is believed where type, source and topic agree', () => {
    const decoded = decode(bytesOf(tap()), { recorded: RECORDED, topic: 'melt' })
    expect(accepted(decoded).statement).toMatchObject({ plant: 'quarry-ford', station: 'melt' })
  })

  it('gives the machine of the source where the data names none', () => {
    const data = { molds: 'M1', pattern: 'P', first: 1, last: 2, ...times }
    const from = (source: string) =>
      atDoor(
        event('mold.molds-made.v1', data, { source: `https://a.example/plant/p/mold${source}` }),
      )
    expect(accepted(from('/line-1')).data).toMatchObject({ line: 'line-1' })
    const nowhere = from('')
    expect(!nowhere.ok && nowhere.reason).toBe(
      'line is missing. Give it, or send under a source that ends in it: the molding line.',
    )
  })
})

describe('What is not known', () => {
  it.each([
    ['melt.heat-taped.v1', 'Did you mean melt.heat-tapped.v1?'],
    ['melt.heat-tapped.v2', 'Did you mean melt.heat-tapped.v1?'],
    ['melt.weather-seen.v1', 'See schema/event-types.md for what may be said.'],
  ])('of type %s is UNKNOWN, in the log as at the door', (type, fix) => {
    for (const decoded of [atDoor(tap({}, { type })), inLog(tap({}, { type }))]) {
      expect(decoded).toMatchObject({ ok: false, class: 'UNKNOWN' })
      expect(!decoded.ok && decoded.reason).toBe(`type ${type} is not known here. ${fix}`)
    }
  })
})

describe('In the log', () => {
  it('recordedtime is read, and must be there', () => {
    const at = '2026-03-02T14:00:00.250Z'
    expect(accepted(inLog(tap({}, { recordedtime: at }))).statement.recorded).toBe(Date.parse(at))
    expect(decode(bytesOf(tap()))).toMatchObject({ ok: false, class: 'SCHEMA' })
  })

  it('unknown fields are kept, accepted and flagged', () => {
    const { statement, data, flags } = accepted(
      inLog(tap({ ladleLining: 'new', kg: { value: 5, clerk: 'x' } })),
    )
    expect(statement.entered).toMatchObject({ ladleLining: 'new', kg: { clerk: 'x' } })
    expect(data).toEqual({ heat: 'H1', furnace: 'F1', ladle: 'L1', kg: { value: 5 } })
    expect(flags.toSorted()).toEqual([
      'kg.clerk is not a known field; it was kept and not read',
      'ladleLining is not a known field; it was kept and not read',
    ])
  })

  it('an event that grew when the door wrote it anew is not set aside for it', () => {
    const lines = Array.from({ length: 1900 }, () => '{"of":"lot:A","kg":1e5},')
    const text = JSON.stringify(event('melt.charge-weighed.v1', { charge: 'C', lines: '@' }))
    const long = text.replace('"@"', `[${lines.join('')}{"of":"lot:A","kg":2e6}]`)
    const said = accepted(decode(Buffer.from(long), { recorded: RECORDED }))
    expect(encode(said.statement).length).toBeGreaterThan(long.length)
    expect(decode(encode(said.statement)).ok).toBe(true)
  })
})

describe('Bytes', () => {
  it('of more than 64 KiB are OVERSIZE at the door, whatever they hold', () => {
    const long = Buffer.alloc(EVENT_BYTES + 1, 0x20)
    expect(refusal(decode(long, { recorded: RECORDED }))).toBe('OVERSIZE')
    const padded = Buffer.concat([bytesOf(tap()), Buffer.alloc(EVENT_BYTES, 0x20)])
    expect(refusal(decode(padded.subarray(0, EVENT_BYTES), { recorded: RECORDED }))).toBe(
      'accepted',
    )
    expect(refusal(decode(padded, { recorded: RECORDED }))).toBe('OVERSIZE')
  })

  it('behind the five of a schema registry are read', () => {
    const framed = Buffer.concat([Buffer.from([0, 0, 0, 1, 7]), bytesOf(tap())])
    expect(decode(framed, { recorded: RECORDED })).toEqual(atDoor(tap()))
  })

  it('with a byte order mark are read', () => {
    const marked = Buffer.concat([Buffer.from([0xef, 0xbb, 0xbf]), bytesOf(tap())])
    expect(decode(marked, { recorded: RECORDED })).toEqual(atDoor(tap()))
  })
})

describe('The public CloudEvents library', () => {
  it.each(GOLDENS)('reads %s as we wrote it', (_, golden) => {
    const { statement } = accepted(atDoor(golden.event))
    const read = HTTP.toEvent({
      headers: { 'content-type': 'application/cloudevents+json' },
      body: Buffer.from(encode(statement)).toString(),
    }) as CloudEvent<JsonObject>
    expect(read.validate()).toBe(true)
    expect(read).toMatchObject({
      specversion: '1.0',
      id: statement.id,
      source: statement.source,
      type: statement.type,
      data: statement.entered,
      partitionkey: statement.source,
    })
    expect(read.subject).toBe(statement.subject)
    expect(Date.parse(read.time!)).toBe(statement.at)
  })

  it.each(GOLDENS)('writes %s so that we read the same statement', (_, golden) => {
    // It rewrites time in universal time, so that it cannot keep the plant's offset.
    const time = new Date(Date.parse(golden.event.time as string)).toISOString()
    const sent = { ...golden.event, time }
    const expected = accepted(atDoor(sent))
    const theirs = new CloudEvent(sent as ConstructorParameters<typeof CloudEvent>[0])
    const structured = HTTP.structured(theirs).body as string
    expect(decode(Buffer.from(structured), { recorded: RECORDED })).toEqual(expected)
    const binary = HTTP.binary(theirs)
    const body = Buffer.from(binary.body as string)
    // It leaves numbers in the headers, which no wire could.
    const headers = Object.entries(binary.headers).map(([name, value]) => [name, String(value)])
    expect(decodeBinary(Object.fromEntries(headers), body, { recorded: RECORDED })).toEqual(
      expected,
    )
    const message = Kafka.binary(theirs) as KafkaMessage<JsonObject>
    const kafka = Object.fromEntries(
      Object.entries(message.headers).flatMap(([name, value]) =>
        value === undefined ? [] : [[name, Buffer.from(String(value))]],
      ),
    )
    expect(decodeBinary(kafka, bytesOf(message.value!), { recorded: RECORDED })).toEqual(expected)
  })
})

describe('Binary mode', () => {
  const headers = {
    'content-type': 'application/json',
    ce_specversion: '1.0',
    ce_id: 'tap-1',
    ce_source: tap().source as string,
    ce_type: 'melt.heat-tapped.v1',
    ce_time: '2026-03-02T07:50:00-06:00',
    'x-unrelated': 'y',
  }

  it('is the same statement as structured mode, offset kept', () => {
    const decoded = decodeBinary(headers, bytesOf(tap().data!), { recorded: RECORDED })
    expect(decoded).toEqual(atDoor(tap()))
  })

  it('is undone from percent-encoding over HTTP only', () => {
    const http = Object.fromEntries(
      Object.entries(headers).map(([name, value]) => [name.replace('ce_', 'ce-'), value]),
    )
    const body = bytesOf(tap().data!)
    const id = (more: object) => {
      const decoded = decodeBinary({ ...headers, ...more }, body, { recorded: RECORDED })
      return accepted(decoded).statement.id
    }
    expect(
      accepted(decodeBinary({ ...http, 'ce-id': 'Gie%C3%9F%201' }, body, { recorded: RECORDED }))
        .statement.id,
    ).toBe('Gieß 1')
    expect(id({ ce_id: 'Gie%C3%9F' })).toBe('Gie%C3%9F')
  })

  it.each([
    ['a body that is no JSON', headers, 'hello', 'UNDECODABLE'],
    ['a header that is no percent-encoding', { ...headers, 'ce-id': '%zz' }, '{}', 'UNDECODABLE'],
    ['a content type that is no JSON', { ...headers, 'content-type': 'text/csv' }, '{}', 'SCHEMA'],
    ['headers that name a prototype', { ...headers, ce___proto__: 'x' }, '{}', 'SCHEMA'],
    ['no headers', {}, '{}', 'SCHEMA'],
  ])('is set aside with %s', (_, given, body, expected) => {
    const decoded = decodeBinary(given, Buffer.from(body), { recorded: RECORDED })
    expect(refusal(decoded)).toBe(expected)
  })
})

it('an event of a batch is decoded like one alone', () => {
  expect(decodeEvent(tap(), { recorded: RECORDED })).toEqual(atDoor(tap()))
})
