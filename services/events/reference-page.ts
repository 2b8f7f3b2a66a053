// The page of event types for people who write stations: what each means, its fields, an example.
import type { EventType } from './event-type.ts'
import { STATIONS } from './fact.ts'
import type { Field, Fields, Shape } from './field.ts'
import { loadFields } from './load.ts'
import type { JsonObject } from './statement.ts'

/** Markdown, made of the declarations; `examples` holds an event for each type by name. */
export function referencePage(
  types: readonly EventType[],
  examples: ReadonlyMap<string, JsonObject>,
): string {
  const sections = STATIONS.flatMap((station) => [
    `## ${station}`,
    ...types
      .filter((type) => type.station === station)
      .map((type) => typeSection(type, examples.get(type.type))),
  ])
  return [HEAD, '## Every load', LOADS, fieldTable(loadFields), ...sections].join('\n\n') + '\n'
}

const HEAD = `# Event types

Made by \`npm run schema\` from the declarations in services/events; do not edit.

Every event is a CloudEvents 1.0.2 object: \`specversion\` 1.0, \`id\`, \`source\`, \`type\`, \`time\` and \`data\`
must be there. What stands below is \`data\`. A type's first word is the station that may say it, and the
source must end in that station or a machine of it:
\`https://<domain>/plant/<plant>/<station>/<machine>\`.

- **id**: 1 to 64 characters without white space or colon. A field named after a kind of thing holds the
  bare id; \`of\`, \`outOf\` and \`into\` hold \`kind:id\`.
- **A weight, count or reading** is a number in the unit named here, or
  \`{"value": 44, "unit": "LBR", "how": "weighed", "spread": 0.2}\`. The unit is a UN/CEFACT Recommendation 20
  code; \`spread\` is one standard deviation. A reading may also be \`{"below": 0.001}\` or \`{"above": 5}\`.
- **Chemistry** is \`{"C": 3.5, "Pb": {"below": 0.0005}}\`: percent of mass by symbol.
- **A moment** is RFC 3339 with its offset, such as \`2026-03-02T06:40:00-06:00\`.
- A \`?\` marks what may be left out. Leave out what is not known: a guess becomes a false fact.
- \`last\` is never before \`first\`, \`endedAt\` never before \`startedAt\`, \`high\` never under \`low\`.
- Of statements that share a slot at most one is in force, the others are shown as rivals. Without a
  slot every statement counts.`

const LOADS =
  'Reports of clean and season about a load of castings have these fields in common. `machine` is the ' +
  'last part of the source where it is left out.'

function typeSection(type: EventType, example: JsonObject | undefined): string {
  const shared = Object.keys(loadFields).every((name) => name in type.fields)
  const own = shared
    ? Object.fromEntries(Object.entries(type.fields).filter(([name]) => !(name in loadFields)))
    : type.fields
  const parts = [
    `### ${type.type}`,
    `${type.means} Slot: ${type.slotMeans ?? 'none, every statement counts'}.`,
  ]
  if (shared)
    parts.push('The fields of every load' + (Object.keys(own).length > 0 ? ', and:' : '.'))
  if (Object.keys(own).length > 0) parts.push(fieldTable(own))
  if (example) parts.push('```json\n' + JSON.stringify(example, null, 2) + '\n```')
  return parts.join('\n\n')
}

function fieldTable(fields: Fields): string {
  const rows = Object.entries(fields).flatMap(([name, field]) => fieldRows(name, field))
  return ['| field | what it is | form |', '|---|---|---|', ...rows].join('\n')
}

function fieldRows(name: string, field: Field): string[] {
  const mark = field.need === 'optional' || field.machine ? '?' : ''
  const usual = field.usual
    ? ` Usual ${field.usual.low} to ${field.usual.high} (${field.usual.source}).`
    : ''
  const row = `| \`${name}${mark}\` | ${field.means}${usual} | ${formOf(field.shape)} |`
  return [row, ...innerRows(name, field.shape)]
}

function innerRows(name: string, shape: Shape): string[] {
  if (shape.is === 'list') return innerRows(name + '[]', shape.of)
  if (shape.is !== 'record') return []
  return Object.entries(shape.fields).flatMap(([inner, field]) =>
    fieldRows(`${name}.${inner}`, field),
  )
}

function formOf(shape: Shape): string {
  switch (shape.is) {
    case 'id':
      return `id of ${/^[aeiou]/.test(shape.kind) ? 'an' : 'a'} ${shape.kind}`
    case 'ref':
      return [...shape.kinds.map((kind) => `${kind}:id`), ...shape.words].join(', ')
    case 'text':
      return `text, up to ${shape.most} characters`
    case 'choice':
      return shape.words.join(', ')
    case 'whole':
      return `whole number, ${shape.least} or more`
    case 'number':
      return 'number'
    case 'quantity':
      return shape.whole
        ? 'whole number'
        : `${shape.bounded ? 'reading' : 'amount'} in ${shape.unit}`
    case 'figure':
      return 'number, below or above'
    case 'chemistry':
      return 'chemistry'
    case 'unit':
      return 'unit code'
    case 'moment':
      return 'moment'
    case 'flag':
      return 'true or false'
    case 'list':
      return shape.of.is === 'record' ? 'list' : `list of: ${formOf(shape.of)}`
    case 'record':
      return 'fields'
    case 'fields':
      return 'fields of the named type'
  }
}
