// Events as stations send them: good ones, and every kind of bad one a door must refuse by name.
import type { JsonObject } from '../../services/events/statement.ts'

export const PLANT = 'https://foundry.example/plant/main'

/** A good tap report; each number makes another. */
export function tap(number: number, over: JsonObject = {}): JsonObject {
  return {
    specversion: '1.0',
    id: `tap-${number}`,
    source: `${PLANT}/melt/furnace-${number % 3}`,
    type: 'melt.heat-tapped.v1',
    subject: `ladle:L-${number}`,
    time: '2026-03-02T06:40:00-06:00',
    data: tapData(number),
    ...over,
  }
}

export function tapData(number: number, over: JsonObject = {}): JsonObject {
  return { heat: 'H-204', furnace: 'F1', ladle: `L-${number}`, kg: 812.5, ...over }
}

function sample(chemistry: JsonObject): JsonObject {
  return {
    ...tap(1),
    id: 'sample-1',
    type: 'melt.heat-sampled.v1',
    subject: 'heat:H-204',
    data: { heat: 'H-204', sample: 'S1', chemistry },
  }
}

interface BadEvent {
  name: string
  text: string
  class: string
  field: string
  sentence: RegExp
}

const bad = (
  name: string,
  event: JsonObject | string,
  refusal: string,
  field: string,
  sentence: RegExp,
): BadEvent => ({
  name,
  text: typeof event === 'string' ? event : JSON.stringify(event),
  class: refusal,
  field,
  sentence,
})

export const BAD_EVENTS: readonly BadEvent[] = [
  bad(
    'malformed JSON',
    '{"specversion":"1.0",',
    'UNDECODABLE',
    'event',
    /cannot be read.*Send JSON/,
  ),
  bad('no object', '[1, 2]', 'UNDECODABLE', 'event', /not a JSON object/),
  bad(
    'an unknown type',
    tap(1, { type: 'melt.heat-tiped.v1' }),
    'UNKNOWN',
    'type',
    /Did you mean melt\.heat-tapped\.v1\?/,
  ),
  bad(
    'an unknown major',
    tap(1, { type: 'melt.heat-tapped.v7' }),
    'UNKNOWN',
    'type',
    /v7 is not known here/,
  ),
  bad(
    'a misspelt field',
    tap(1, { data: tapData(1, { celcius: 1420 }) }),
    'SCHEMA',
    'celcius',
    /celsius\?/,
  ),
  bad(
    'a wrong unit',
    tap(1, { data: tapData(1, { kg: { value: 3, unit: 'CEL' } }) }),
    'SCHEMA',
    'kg.unit',
    /KGM/,
  ),
  bad(
    'an unknown unit',
    tap(1, { data: tapData(1, { kg: { value: 3, unit: 'stone' } }) }),
    'SCHEMA',
    'kg.unit',
    /KGM/,
  ),
  bad(
    'negative kg',
    tap(1, { data: tapData(1, { kg: -4 }) }),
    'DOMAIN',
    'kg',
    /negative.*0 or more/,
  ),
  bad('chemistry over 100 %', sample({ C: 3.4, Fe: 99 }), 'DOMAIN', 'chemistry', /100/),
  bad(
    'a type that is not of that station',
    tap(1, { source: `${PLANT}/pour/line-1` }),
    'FORGED',
    'type',
    /not said by the station pour/,
  ),
  bad(
    'a source that is no station',
    tap(1, { source: 'https://foundry.example/office' }),
    'FORGED',
    'source',
    /names no station/,
  ),
  bad('a missing time', tap(1, { time: null }), 'SCHEMA', 'time', /missing/),
  bad('a time without offset', tap(1, { time: '2026-03-02T06:40:00' }), 'SCHEMA', 'time', /offset/),
  bad(
    'a subject that is not what the data is about',
    tap(1, { subject: 'ladle:other' }),
    'SCHEMA',
    'subject',
    /Give ladle:L-1/,
  ),
  bad(
    'half a surrogate pair',
    tap(1, { data: tapData(1, { heat: 'H-\ud800' }) }),
    'UNDECODABLE',
    'event',
    /surrogate/,
  ),
  bad('a decision, which no station makes', decision(), 'FORGED', 'type', /no station makes/),
]

export function decision(): JsonObject {
  return {
    specversion: '1.0',
    id: 'void-1',
    source: `${PLANT}/quality`,
    type: 'quality.record-voided.v1',
    time: '2026-03-02T08:00:00-06:00',
    data: {
      event: {
        source: `${PLANT}/melt/furnace-1`,
        id: 'tap-1',
        type: 'melt.heat-tapped.v1',
        subject: 'ladle:L-1',
      },
      reason: 'reported twice',
      by: 'QE-1',
    },
  }
}
