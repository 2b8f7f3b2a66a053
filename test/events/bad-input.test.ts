import { describe, expect, it } from 'vitest'
import { type Decoded, decode, EVENT_BYTES } from '../../services/events/envelope.ts'
import type { JsonObject, JsonValue } from '../../services/events/statement.ts'
import { accepted, atDoor, bytesOf, event, RECORDED, tap } from './example.ts'

/** Class and reason in one line. */
const verdict = (decoded: Decoded) =>
  decoded.ok ? 'accepted' : `${decoded.class}: ${decoded.reason}`
const doorBytes = (bytes: Uint8Array) => decode(bytes, { recorded: RECORDED })
const door = (text: string) => doorBytes(Buffer.from(text))

const hour = { startedAt: '2026-03-02T06:50:00-06:00', endedAt: '2026-03-02T07:50:00-06:00' }
const load = { load: 'X', castings: 10, ...hour }

describe('Bytes that are no event', () => {
  it.each([
    ['malformed JSON', '{"specversion":"1.0",'],
    ['an empty file', ''],
    ['white space', ' \n'],
    ['a list', '[1,2]'],
    ['a bare text', '"tapped"'],
    ['null', 'null'],
    ['two events in one', JSON.stringify(tap()) + JSON.stringify(tap())],
    ['not a number', JSON.stringify(tap()).replace('500', 'NaN')],
    ['an infinite number', JSON.stringify(tap()).replace('500', 'Infinity')],
  ])('%s are UNDECODABLE', (_, text) => {
    expect(verdict(door(text))).toMatch(/^UNDECODABLE: event /)
  })

  it('binary files are UNDECODABLE', () => {
    expect(verdict(doorBytes(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a])))).toMatch(
      /^UNDECODABLE/,
    )
    expect(verdict(doorBytes(Buffer.from([0xff, 0xfe, 0x7b, 0x00])))).toMatch(/^UNDECODABLE/)
    expect(verdict(doorBytes(Buffer.alloc(3)))).toMatch(/^UNDECODABLE/)
  })

  it('a line of 10 MB is OVERSIZE, at once', () => {
    const before = performance.now()
    expect(verdict(doorBytes(Buffer.alloc(10_000_000, 0x7b)))).toMatch(
      /^OVERSIZE: event is 10000000/,
    )
    // Not read at all: far below what 10 MB of JSON takes.
    expect(performance.now() - before).toBeLessThan(1000)
  })

  it('brackets nested as deep as fit are refused without using up the stack', () => {
    const deep = '['.repeat(30_000) + ']'.repeat(30_000)
    const unknown = JSON.stringify(tap({ odd: '@' })).replace('"@"', deep)
    expect(unknown.length).toBeLessThan(EVENT_BYTES)
    expect(verdict(door(unknown))).toMatch(/^SCHEMA: odd is not a known field/)
    const logged = unknown.replace('{', '{"recordedtime":"2026-03-02T14:00:00Z",')
    expect(verdict(decode(Buffer.from(logged)))).toMatch(/^UNDECODABLE: .* nested deeper than 32/)
    expect(verdict(door('['.repeat(EVENT_BYTES)))).toMatch(/^UNDECODABLE/)
  })

  it.each([
    ['half a surrogate pair', '"\\ud83d"'],
    ['the character U+0000', '"a\\u0000b"'],
    ['a number beyond doubles', '1e400'],
  ])('%s in an unknown field is UNDECODABLE in the log', (_, text) => {
    const event = tap({ odd: '@' }, { recordedtime: '2026-03-02T14:00:00Z' })
    const bytes = Buffer.from(JSON.stringify(event).replace('"@"', text))
    expect(verdict(decode(bytes))).toMatch(/^UNDECODABLE/)
  })
})

describe('Events that cannot be so', () => {
  it.each<[string, JsonObject, string]>([
    [
      'a misspelt field',
      { celcius: 1430 },
      'SCHEMA: celcius is not a known field. Did you mean celsius?',
    ],
    ['a field of nowhere', { colour: 'red' }, 'SCHEMA: colour is not a known field. Leave it out.'],
    [
      'a wrong unit',
      { kg: { value: 9, unit: 'LBS' } },
      'SCHEMA: kg.unit is not a known unit. Give one of KGM GRM MGM TNE LBR ONZ STN LTN.',
    ],
    [
      'a unit of something else',
      { kg: { value: 9, unit: 'CEL' } },
      'SCHEMA: kg.unit measures something else: CEL. Give one of KGM GRM MGM TNE LBR ONZ STN LTN.',
    ],
    ['negative kg', { kg: -3 }, 'DOMAIN: kg is negative. Give 0 or more.'],
    [
      'negative kg in pounds',
      { kg: { value: -3, unit: 'LBR' } },
      'DOMAIN: kg is negative. Give 0 or more.',
    ],
    ['a huge weight', { kg: 1e300 }, 'DOMAIN: kg is over 2000000. Check the number and its unit.'],
    [
      'below absolute zero',
      { celsius: { value: -500, unit: 'FAH' } },
      'DOMAIN: celsius is under -273.15. Give -273.15 or more.',
    ],
    [
      'a weight as text',
      { kg: '500' },
      'SCHEMA: kg is not a number. Give a number, {"value": 1, "unit": "KGM"}.',
    ],
    [
      'a weight under a limit',
      { kg: { below: 5 } },
      'SCHEMA: kg.value is not a number. Give a number, {"value": 1, "unit": "KGM"}.',
    ],
    [
      'a negative spread',
      { kg: { value: 5, spread: -1 } },
      'SCHEMA: kg.spread is not a standard deviation. Give a number, 0 or more.',
    ],
    [
      'an unknown how',
      { kg: { value: 5, how: 'wieghed' } },
      'SCHEMA: kg.how is not a known word. Give one of weighed counted metered book estimated target.',
    ],
    ['null', { celsius: null }, 'SCHEMA: celsius is null. Leave it out if it is not known.'],
    [
      'a tap of one and a half',
      { tap: 1.5 },
      'SCHEMA: tap is not a whole number. Give a whole number, 1 or more.',
    ],
    ['tap zero', { tap: 0 }, 'DOMAIN: tap is not from 1 to 2000000000. Check the number.'],
    [
      'an id with white space',
      { ladle: 'L 1' },
      'SCHEMA: ladle is not an id. Give 1 to 64 characters without white space or colon.',
    ],
    [
      'an id with a colon',
      { ladle: 'ladle:L1' },
      'SCHEMA: ladle is not an id. Give 1 to 64 characters without white space or colon.',
    ],
    [
      'an id with an invisible character',
      { ladle: 'L\u200b1' },
      'SCHEMA: ladle is not an id. Give 1 to 64 characters without white space or colon.',
    ],
    [
      'an empty id',
      { ladle: '' },
      'SCHEMA: ladle is not an id. Give 1 to 64 characters without white space or colon.',
    ],
    [
      'an id of 65 characters',
      { ladle: 'L'.repeat(65) },
      'SCHEMA: ladle is not an id. Give 1 to 64 characters without white space or colon.',
    ],
    [
      'an id that is a number',
      { ladle: 7 },
      'SCHEMA: ladle is not a text. Give 1 to 64 characters without white space or colon.',
    ],
  ])('%s is refused with the field and the fix', (_, data, reason) => {
    expect(verdict(atDoor(tap(data)))).toBe(reason)
  })

  it.each<[string, string, JsonObject, string]>([
    [
      'chemistry over 100 %',
      'melt.heat-sampled.v1',
      { heat: 'H', sample: 'S', chemistry: { C: 3.5, Fe: 98 } },
      'DOMAIN: chemistry adds to 101.5 %, more than 100 %. Give percent of mass; use {"value": 12, "unit": "59"} for parts per million.',
    ],
    [
      'one element over 100 %',
      'melt.heat-sampled.v1',
      { heat: 'H', sample: 'S', chemistry: { C: 350 } },
      'DOMAIN: chemistry.C is over 100. Check the number and its unit.',
    ],
    [
      'a misspelt element',
      'melt.heat-sampled.v1',
      { heat: 'H', sample: 'S', chemistry: { CU: 0.3 } },
      'SCHEMA: chemistry.CU is not a chemical element. Did you mean Cu?',
    ],
    [
      'last before first',
      'mold.molds-lost.v1',
      { line: 'l', first: 9, last: 3, fate: 'broken' },
      'DOMAIN: last is before first. Check first and last.',
    ],
    [
      'ended before started',
      'mold.line-stopped.v1',
      { line: 'l', startedAt: '2026-03-02T07:00:00Z', endedAt: '2026-03-02T06:59:59Z' },
      'DOMAIN: endedAt ended before it started. Check startedAt and endedAt.',
    ],
    [
      'an oven stop that ended before it started',
      'season.load-baked.v1',
      {
        ...load,
        zones: [{ celsius: 220, minutes: 60 }],
        stops: [{ startedAt: '2026-03-02T07:00:00Z', endedAt: '2026-03-02T06:00:00Z' }],
      },
      'DOMAIN: stops[0].endedAt ended before it started. Check startedAt and endedAt.',
    ],
    [
      'sources adding to more than castingsIn',
      'clean.load-blasted.v1',
      {
        ...load,
        castingsIn: 60,
        sources: [
          { of: 'pour:P1', castings: 40 },
          { of: 'pour:P2', castings: 21 },
        ],
      },
      'DOMAIN: sources add to 61, more than the 60 of castingsIn. Check the counts of the sources and castingsIn.',
    ],
    [
      'more out than in',
      'clean.load-blasted.v1',
      { ...load, castings: 59, castingsIn: 60, removed: [{ castings: 2, fate: 'scrap' }] },
      'DOMAIN: castings and removed add to 61, more than the 60 of castingsIn. Check the counts of castings, removed and castingsIn.',
    ],
    [
      'half a casting',
      'clean.load-blasted.v1',
      { ...load, castings: 10.5 },
      'DOMAIN: castings is not a whole number. Count whole castings.',
    ],
    [
      'a kind that cannot be there',
      'clean.load-blasted.v1',
      { ...load, sources: [{ of: 'lot:PI-77' }] },
      'SCHEMA: sources[0].of cannot be of that kind. Give pour:id, load:id, tote:id.',
    ],
    [
      'a misspelt kind',
      'clean.load-blasted.v1',
      { ...load, sources: [{ of: 'puor:P1' }] },
      'SCHEMA: sources[0].of cannot be of that kind. Give pour:id.',
    ],
    [
      'a thing without its kind',
      'clean.load-blasted.v1',
      { ...load, sources: [{ of: 'P1' }] },
      'SCHEMA: sources[0].of does not say what kind of thing it is. Give pour:id, load:id, tote:id.',
    ],
    [
      'an empty list',
      'clean.load-blasted.v1',
      { ...load, sources: [] },
      'SCHEMA: sources is empty. Give 1 or more, or leave it out.',
    ],
    [
      'a misspelt word',
      'clean.load-sorted.v1',
      { ...load, reason: 'porduct' },
      'SCHEMA: reason is not a known word. Did you mean product?',
    ],
    [
      'a ladle beside a furnace',
      'pour.molds-poured.v1',
      { pour: 'P', ladle: 'L', furnace: 'F', line: 'l', first: 1, last: 2, ...hour },
      'DOMAIN: furnace is given beside ladle. Name the one it was poured from.',
    ],
    [
      'metal moved to where it came from',
      'melt.metal-moved.v1',
      { outOf: 'ladle:L', into: 'ladle:L', kg: 5, reason: 'transfer' },
      'DOMAIN: into is where the metal came from. Name where it went.',
    ],
    [
      'a heel in an empty furnace',
      'melt.heat-melted.v1',
      { heat: 'H', furnace: 'F', charges: [{ charge: 'C' }], fromEmpty: true, heelKg: 5 },
      'DOMAIN: heelKg is over 0 although fromEmpty is true. Leave out one of the two.',
    ],
    [
      'more defective than were looked at',
      'inspect.castings-inspected.v1',
      { inspection: 'I', of: ['pack:P'], stage: 's', castings: 10, defective: 11, defects: [] },
      'DOMAIN: defective is more than were looked at. Check both counts.',
    ],
    [
      'sources of more than was packed',
      'ship.pans-packed.v1',
      {
        pack: 'P',
        marks: [],
        lines: [{ product: 'x', castings: 5, sources: [{ of: 'load:L', castings: 6 }] }],
      },
      'DOMAIN: lines[0].sources add to 6, more than the 5 packed. Check the counts.',
    ],
    [
      'more packed anew than was taken out',
      'ship.packs-repacked.v1',
      {
        outOf: [{ pack: 'A', castings: 5 }],
        into: [{ pack: 'B', marks: [], product: 'x', castings: 6 }],
        reason: 'repack',
      },
      'DOMAIN: into holds 6 castings, more than the 5 taken out. Check the counts of outOf and into.',
    ],
    [
      'a telephone number in what a consumer said',
      'inspect.complaint-received.v1',
      {
        complaint: 'C',
        receivedAt: '2026-03-02T07:00:00Z',
        words: 'it broke, call 555 (010) 9988',
      },
      'DOMAIN: words hold a mail address or a telephone number. Leave it out: the record cannot be erased. Marks go under marks.',
    ],
    [
      'a limit upside down',
      'quality.limits-set.v1',
      { of: {}, quantity: 'film', low: 9, high: 3, unit: 'MGM', from: '2026-03-02T07:00:00Z' },
      'DOMAIN: high is under low. Check low and high.',
    ],
    [
      'a date without offset',
      'mold.line-stopped.v1',
      { line: 'l', startedAt: '2026-03-02T07:00:00', endedAt: '2026-03-02T08:00:00Z' },
      'SCHEMA: startedAt is not a date and time with offset. Give RFC 3339, such as 2026-03-02T06:40:00-06:00.',
    ],
  ])('%s is refused with the field and the fix', (_, type, data, reason) => {
    expect(verdict(atDoor(event(type, data)))).toBe(reason)
  })

  it('a count that is only an estimate proves nothing and is accepted', () => {
    const estimated = { value: 70, how: 'estimated' }
    const sources = [{ of: 'pour:P1', castings: estimated }]
    const decoded = atDoor(event('clean.load-blasted.v1', { ...load, castingsIn: 60, sources }))
    expect(decoded.ok).toBe(true)
  })

  it('all problems are told at once, and few enough to read', () => {
    const many = atDoor(tap({ celcius: 1, kg: -1, tap: 'x' }))
    expect(!many.ok && many.problems.map(({ path }) => path)).toEqual(['tap', 'kg', 'celcius'])
    const strangers = Object.fromEntries(Array.from({ length: 3000 }, (_, i) => [`celciu${i}`, 1]))
    const hostile = atDoor(tap(strangers as JsonObject))
    expect(!hostile.ok && hostile.problems.length).toBe(50)
  })

  it('a misspelt field is refused even behind fifty readings out of the ordinary', () => {
    const cold = { at: '2026-03-02T07:00:00Z', celsius: 900 }
    const pour = { pour: 'P', line: 'l', first: 1, last: 2, ...hour }
    const data = { ...pour, temperatures: Array.from({ length: 80 }, () => cold), celcius: 1 }
    expect(verdict(atDoor(event('pour.molds-poured.v1', data)))).toMatch(/^SCHEMA: celcius/)
  })
})

describe('Names that JavaScript knows', () => {
  it.each(['__proto__', 'constructor', 'toString', 'hasOwnProperty'])(
    '%s is an unknown field like any other',
    (name) => {
      const text = JSON.stringify(tap({ odd: { polluted: true } })).replace('"odd"', `"${name}"`)
      expect(verdict(door(text))).toMatch(new RegExp(`^SCHEMA: ${name} is not a known field`))
      expect(({} as Record<string, unknown>).polluted).toBeUndefined()
      const logged = text.replace('{', '{"recordedtime":"2026-03-02T14:00:00Z",')
      const { statement, data } = accepted(decode(Buffer.from(logged)))
      expect(Object.hasOwn(statement.entered, name)).toBe(true)
      expect(Object.hasOwn(data as object, name)).toBe(false)
      expect((data as Record<string, unknown>).polluted).toBeUndefined()
    },
  )

  it('a required field is not found on the prototype', () => {
    const text = JSON.stringify(tap()).replace('"kg":500', '"__proto__":{"kg":500}')
    expect(verdict(door(text))).toMatch(/^SCHEMA: kg is missing/)
  })

  it('__proto__ among the elements is no element', () => {
    const sampled = event('melt.heat-sampled.v1', { heat: 'H', sample: 'S', chemistry: { odd: 1 } })
    const text = JSON.stringify(sampled).replace('"odd"', '"__proto__"')
    expect(verdict(door(text))).toMatch(/^SCHEMA: chemistry.__proto__ is not a chemical element/)
  })
})

describe('What is merely unusual', () => {
  it.each<[string, string, JsonObject, string]>([
    [
      'a cold tap',
      'melt.heat-tapped.v1',
      { heat: 'H', furnace: 'F', ladle: 'L', kg: 5, celsius: 1200 },
      'celsius 1200 is outside the usual 1350 to 1580 °C',
    ],
    [
      'iron with much phosphorus',
      'melt.heat-sampled.v1',
      { heat: 'H', sample: 'S', chemistry: { P: 1.4 } },
      'chemistry.P 1.4 is outside the usual 0 to 1 %',
    ],
    [
      'castings that went in and did not come out',
      'clean.load-blasted.v1',
      { ...load, castings: 50, castingsIn: 60 },
      'castings: 10 of 60 went in and did not come out',
    ],
    [
      'a recipe that is not whole',
      'melt.recipe-issued.v1',
      { recipe: { id: 'R', revision: '1' }, lines: [{ material: 'pig', percent: 90 }] },
      'lines add to 90 %, not 100',
    ],
    [
      'a tally far from its time',
      'mold.molds-made.v1',
      {
        molds: 'M',
        line: 'l',
        pattern: 'P',
        first: 1,
        last: 2,
        ...hour,
        endedAt: '2026-03-02T09:50:01-06:00',
      },
      'endedAt is over an hour from time, which is when it ended',
    ],
  ])('%s is accepted and flagged', (_, type, data, flag) => {
    expect(accepted(atDoor(event(type, data))).flags).toEqual([flag])
  })

  it('a reading under its limit is not outside when the limit is not', () => {
    const chemistry: JsonValue = { C: { below: 4.5 }, Pb: { above: 0.001 } }
    const sampled = event('melt.heat-sampled.v1', { heat: 'H', sample: 'S', chemistry })
    expect(accepted(atDoor(sampled)).flags).toEqual([])
  })
})

it('things never reported are no problem of the event that names them', () => {
  expect(atDoor(tap({ heat: 'never-reported' })).ok).toBe(true)
})

it('bytes given are not changed', () => {
  const bytes = bytesOf(tap({ celcius: 1 }))
  const before = Buffer.from(bytes)
  doorBytes(bytes)
  expect(Buffer.compare(bytes, before)).toBe(0)
})
