// The published form of a declaration: JSON Schema draft-07 of the whole event. Open, as the record
// is: unknown fields are let through, so that a newer station can speak to an older house.
import { ENTRIES } from './attribute.ts'
import type { EventType } from './event-type.ts'
import { HOWS } from './fact.ts'
import type { Field, Fields, QuantityShape, Shape } from './field.ts'
import { sourcePattern } from './source.ts'
import type { JsonObject } from './statement.ts'
import { codesOf, UNITS } from './units.ts'

const ID = '[^\\s:]{1,64}'
const NAME = `^[a-z]+:${ID}$`
const moment = { type: 'string', format: 'date-time' }
const word = { type: 'string', minLength: 1 }

/** Schema of one event type, self-contained. */
export function schemaOf(type: EventType): JsonObject {
  const definitions: JsonObject = {}
  const data = recordSchema(type.fields, definitions)
  return {
    $schema: 'http://json-schema.org/draft-07/schema#',
    title: type.type,
    description: type.means,
    type: 'object',
    required: ['specversion', 'id', 'source', 'type', 'time', 'data'],
    properties: {
      specversion: { const: '1.0' },
      id: { ...word, maxLength: 128, description: 'With source the key of the event.' },
      source: {
        type: 'string',
        pattern: sourcePattern([type.station]),
        description: `Who says it: the station ${type.station} or one of its machines.`,
      },
      type: { const: type.type },
      subject: { type: 'string', pattern: NAME, description: 'The main thing, as kind:id.' },
      time: { ...moment, description: 'When it ended, with the offset of the plant.' },
      datacontenttype: { type: 'string', pattern: 'json' },
      supersedes: {
        ...word,
        description: 'Id of the event under the same source that it corrects.',
      },
      recordedtime: { ...moment, description: 'Stamped by the door, overwritten if sent.' },
      senttime: { ...moment, description: "The station's clock when it sent." },
      timespread: {
        anyOf: [
          { type: 'number', minimum: 0 },
          { type: 'string', pattern: '^[0-9.]+$' },
        ],
        description: 'Seconds by which time may be wrong either way.',
      },
      entry: { enum: [...ENTRIES], description: 'How it was entered.' },
      sequence: {
        anyOf: [
          { type: 'integer', minimum: 0 },
          { type: 'string', pattern: '^[0-9]+$' },
        ],
        description: "The station's own running count.",
      },
      partitionkey: { ...word, description: 'The source.' },
      traceparent: { ...word, description: 'W3C trace context.' },
      data: { description: type.means, ...data },
    },
    definitions,
  }
}

function recordSchema(fields: Fields, definitions: JsonObject): JsonObject {
  const entries = Object.entries(fields)
  // One that the source can stand in for is not asked of the data.
  const required = entries.filter(([, { need, machine }]) => need === 'required' && !machine)
  return {
    type: 'object',
    required: required.map(([name]) => name),
    properties: Object.fromEntries(
      entries.map(([name, field]) => [name, fieldSchema(field, definitions)]),
    ),
  }
}

function fieldSchema(field: Field, definitions: JsonObject): JsonObject {
  const schema = shapeSchema(field.shape, definitions)
  const description = [field.means, unitSentence(field.shape), usualSentence(field)]
  const text = description.filter(Boolean).join(' ')
  // Draft-07 ignores what stands beside $ref.
  return '$ref' in schema
    ? { description: text, allOf: [schema] }
    : { description: text, ...schema }
}

function shapeSchema(shape: Shape, definitions: JsonObject): JsonObject {
  switch (shape.is) {
    case 'id':
      return { type: 'string', pattern: `^${ID}$` }
    case 'ref': {
      const things = `(${shape.kinds.join('|')}):${ID}`
      return { type: 'string', pattern: `^(${[things, ...shape.words].join('|')})$` }
    }
    case 'text':
      return { type: 'string', minLength: 1, maxLength: shape.most }
    case 'choice':
      return { enum: [...shape.words] }
    case 'whole':
      return { type: 'integer', minimum: shape.least }
    case 'number':
      return { type: 'number', minimum: shape.least, maximum: shape.most }
    case 'quantity':
      return refTo(definitions, quantityName(shape), () => quantitySchema(shape))
    case 'figure':
      return refTo(definitions, 'figure', () => ({
        anyOf: [{ type: 'number' }, valued({}), ...bounds({})],
      }))
    case 'chemistry': {
      const part = { is: 'quantity', unit: 'P1', least: 0, most: 100, bounded: true } as const
      const element = shapeSchema({ ...part, whole: false }, definitions)
      return { type: 'object', patternProperties: { '^[A-Z][a-z]?$': element } }
    }
    case 'unit':
      return { enum: [...UNITS.keys()] }
    case 'moment':
      return { ...moment }
    case 'flag':
      return { type: 'boolean' }
    case 'list':
      return {
        type: 'array',
        minItems: shape.least,
        items: shapeSchema(shape.of, definitions),
      }
    case 'record':
      return recordSchema(shape.fields, definitions)
    case 'fields':
      return { type: 'object' }
  }
}

function quantitySchema({ unit, least, most, bounded, whole }: QuantityShape): JsonObject {
  const { measure, name } = UNITS.get(unit)!
  const codes = { unit: { enum: codesOf(measure) } }
  return {
    description: `A number in ${name} (${unit}), or with its unit and its doubt.`,
    anyOf: [
      { type: whole ? 'integer' : 'number', minimum: least, maximum: most },
      valued(codes),
      ...(bounded ? bounds(codes) : []),
    ],
  }
}

function valued(unit: JsonObject): JsonObject {
  return {
    type: 'object',
    required: ['value'],
    properties: { value: { type: 'number' }, ...unit, ...doubt },
  }
}

function bounds(unit: JsonObject): JsonObject[] {
  return ['below', 'above'].map((bound) => ({
    type: 'object',
    required: [bound],
    properties: { [bound]: { type: 'number' }, ...unit, ...doubt },
  }))
}

const doubt: JsonObject = {
  how: { enum: [...HOWS] },
  spread: { type: 'number', minimum: 0, description: 'One standard deviation, in the same unit.' },
  repeat: {
    type: 'number',
    minimum: 0,
    description: 'With a named scale: the deviation of the single weighing.',
  },
}

function quantityName({ unit, bounded, most }: QuantityShape): string {
  return [unit, bounded ? 'reading' : 'amount', most].join('-')
}

function refTo(definitions: JsonObject, name: string, make: () => JsonObject): JsonObject {
  definitions[name] ??= make()
  return { $ref: `#/definitions/${name}` }
}

function unitSentence(shape: Shape): string {
  return shape.is === 'quantity' ? `Unit: ${shape.unit}.` : ''
}

function usualSentence({ usual }: Field): string {
  return usual ? `Usual: ${usual.low} to ${usual.high} (${usual.source}).` : ''
}
