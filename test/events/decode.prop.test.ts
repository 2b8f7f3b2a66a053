import { Ajv } from 'ajv'
import formats from 'ajv-formats'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { canonical } from '../../services/events/canonical.ts'
import { claimOf, EVENT_TYPES, factsOf, read } from '../../services/events/catalog.ts'
import { type Decoded, decode, encode } from '../../services/events/envelope.ts'
import { schemaOf } from '../../services/events/json-schema.ts'
import type { JsonObject, JsonValue } from '../../services/events/statement.ts'
import { runs } from '../runs.ts'
import { accepted, bytesOf, event, GOLDENS, RECORDED } from './example.ts'

/** What no database keeps: a reason or flag that holds it would block the stream. */
const UNKEPT = /[\p{Cc}\p{Cs}]/u
const RUNS = runs(2000)
const door = { recorded: RECORDED }
const ajv = formats.default(new Ajv())
const published = new Map(EVENT_TYPES.map((type) => [type.type, ajv.compile(schemaOf(type))]))

/** Values that checks stumble over. */
const awkward: fc.Arbitrary<JsonValue> = fc.oneof(
  fc.constantFrom<JsonValue>(
    null,
    true,
    0,
    -0,
    -1,
    0.5,
    1e300,
    5e-324,
    2_000_001,
    '',
    ' ',
    'x',
    'a b',
    'a:b',
    'lot:A',
    'bin:B',
    'lot:',
    ':x',
    'floor',
    'load:X',
    '2026-03-02T06:40:00-06:00',
    '2026-02-30T06:40:00Z',
    [],
    {},
    [[]],
    { value: 3, unit: 'LBR' },
    { value: 3, unit: 'FAH' },
    { below: 1 },
    { above: 2, below: 1 },
    { value: '3' },
    { value: 1, how: 'estimated', spread: 2 },
    { of: 'lot:A' },
    [{ of: 'lot:A', kg: 1 }],
  ),
  fc.jsonValue({ maxDepth: 3 }).map((value) => value as JsonValue),
)

/** A golden event with some of its data otherwise, at any depth. */
const bent = fc
  .tuple(
    fc.nat(GOLDENS.length - 1),
    fc.array(fc.tuple(fc.nat(), fc.nat(5), awkward), { maxLength: 3 }),
  )
  .map(([n, changes]) => {
    const sent = structuredClone(GOLDENS[n]![1].event)
    for (const [where, how, value] of changes) bend(sent.data, where, how, structuredClone(value))
    return sent
  })

describe('Decoding', () => {
  it('never throws, whatever the bytes', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), fc.boolean(), (bytes, atDoor) => {
        const decoded = decode(bytes, atDoor ? door : {})
        expect(!decoded.ok && decoded.reason).not.toMatch(UNKEPT)
      }),
      RUNS,
    )
  })

  it('never throws on JSON, and names a field and a fix for every problem', () => {
    const anyEvent = fc.oneof(
      awkward,
      fc
        .tuple(fc.constantFrom(...EVENT_TYPES), awkward)
        .map(([{ type }, data]) => event(type, data)),
      fc
        .tuple(bent, fc.dictionary(fc.string({ unit: 'binary' }), awkward))
        .map(([sent, more]) => ({ ...sent, ...more })),
    )
    fc.assert(
      fc.property(anyEvent, fc.boolean(), (sent, atDoor) => {
        const decoded = decode(bytesOf(sent as JsonValue), atDoor ? door : {})
        if (decoded.ok) return
        expect(decoded.problems.length).toBeGreaterThan(0)
        for (const { path, problem, fix } of decoded.problems) {
          expect([path, problem, fix].every((words) => words.length > 0)).toBe(true)
        }
        expect(decoded.reason).not.toMatch(UNKEPT)
      }),
      RUNS,
    )
  })

  it('keeps what was entered as entered, and the log hears what the door took', () => {
    let taken = 0
    fc.assert(
      fc.property(bent, (sent) => {
        const decoded = decode(bytesOf(sent), door)
        if (!decoded.ok) return
        taken++
        expect(decoded.statement.entered).toEqual(JSON.parse(JSON.stringify(sent.data)))
        const heard = accepted(
          decode(encode(decoded.statement), { topic: decoded.statement.station }),
        )
        expect(heard).toEqual(decoded)
        expect(read(heard.statement)).toEqual({
          data: decoded.data,
          claim: claimOf(decoded.statement, decoded.data),
          facts: factsOf(decoded.statement, decoded.data),
          flags: heard.flags.filter((flag) => !/^(time|endedAt) is over an hour/.test(flag)),
        })
      }),
      RUNS,
    )
    expect(taken).toBeGreaterThan(RUNS.numRuns / 10)
  })

  it('at the door lets nothing through that the published schema refuses', () => {
    let taken = 0
    fc.assert(
      fc.property(bent, (sent) => {
        if (!decode(bytesOf(sent), door).ok) return
        taken++
        const validate = published.get(sent.type)!
        validate(sent)
        expect(validate.errors ?? []).toEqual([])
      }),
      RUNS,
    )
    expect(taken).toBeGreaterThan(RUNS.numRuns / 10)
  })

  it('hears unknown fields in the log and comes to the same facts', () => {
    const stranger = fc.string({ unit: 'binary', maxLength: 80 }).map((name) => 'x-' + name)
    fc.assert(
      fc.property(fc.nat(GOLDENS.length - 1), stranger, fc.jsonValue(), (n, name, value) => {
        const golden = GOLDENS[n]![1]
        const at = { recordedtime: new Date(RECORDED).toISOString() }
        const plain = accepted(decode(bytesOf({ ...golden.event, ...at })))
        const data = { ...golden.event.data, [name]: value as JsonValue }
        const decoded = decode(bytesOf({ ...golden.event, ...at, data }))
        // Some values have no canonical text and so no hash: no database could keep them.
        if (!decoded.ok) {
          expect(decoded.class).toBe('UNDECODABLE')
          return
        }
        expect(factsOf(decoded.statement, decoded.data)).toEqual(golden.facts)
        expect(decoded.flags.length).toBe(plain.flags.length + 1)
        expect(decoded.flags.join()).not.toMatch(UNKEPT)
        expect(decoded.statement.hash).not.toBe(plain.statement.hash)
      }),
      RUNS,
    )
  })

  it('gives one hash whatever the order of names', () => {
    fc.assert(
      fc.property(fc.nat(GOLDENS.length - 1), fc.nat(), (n, turn) => {
        const sent = GOLDENS[n]![1].event
        const hashOf = (decoded: Decoded) => accepted(decoded).statement.hash
        expect(hashOf(decode(bytesOf(shuffled(sent, turn)), door))).toBe(
          hashOf(decode(bytesOf(sent), door)),
        )
      }),
      RUNS,
    )
  })
})

describe('Canonical JSON', () => {
  it('reads back as the same value, and is its own canonical text', () => {
    fc.assert(
      fc.property(fc.jsonValue({ maxDepth: 6 }), (value) => {
        const text = canonical(value as JsonValue)
        const back = JSON.parse(text) as JsonValue
        expect(canonical(back)).toBe(text)
        expect(canonical(JSON.parse(JSON.stringify(value)) as JsonValue)).toBe(text)
      }),
      RUNS,
    )
  })

  it('is one for all orders of names and another for another value', () => {
    fc.assert(
      fc.property(fc.jsonValue(), fc.jsonValue(), fc.nat(), (one, other, turn) => {
        const same = JSON.parse(JSON.stringify(one)) as JsonValue
        expect(canonical(shuffled(same, turn) as JsonValue)).toBe(canonical(same))
        const equal = canonical(one as JsonValue) === canonical(other as JsonValue)
        expect(equal).toBe(sameJson(same, JSON.parse(JSON.stringify(other)) as JsonValue))
      }),
      RUNS,
    )
  })
})

/** Sets, drops or adds at some place of the data. */
function bend(data: JsonObject, where: number, how: number, value: JsonValue): void {
  const places: [JsonObject | JsonValue[], string][] = []
  const walk = (inside: JsonValue): void => {
    if (typeof inside !== 'object' || inside === null) return
    for (const [name, part] of Object.entries(inside)) {
      places.push([inside as JsonObject, name])
      walk(part)
    }
  }
  walk(data)
  const [holder, name] = places[where % places.length] ?? [data, 'x']
  if (how === 0 && !Array.isArray(holder)) delete holder[name]
  else if (how === 1 && !Array.isArray(holder)) holder[name + 'x'] = value
  else (holder as JsonObject)[name] = value
}

function shuffled<T extends JsonValue>(value: T, turn: number): T {
  if (Array.isArray(value)) return value.map((part) => shuffled(part, turn)) as T
  if (typeof value !== 'object' || value === null) return value
  const entries = Object.entries(value).map(([name, part]) => [name, shuffled(part, turn + 1)])
  const cut = entries.length > 0 ? turn % entries.length : 0
  return Object.fromEntries([...entries.slice(cut), ...entries.slice(0, cut)].reverse()) as T
}

function sameJson(a: JsonValue, b: JsonValue): boolean {
  if (typeof a !== 'object' || typeof b !== 'object' || !a || !b) return a === b
  const [names, others] = [Object.keys(a), Object.keys(b)]
  return (
    Array.isArray(a) === Array.isArray(b) &&
    names.length === others.length &&
    names.every(
      (name) =>
        Object.hasOwn(b, name) && sameJson((a as JsonObject)[name]!, (b as JsonObject)[name]!),
    )
  )
}
