// Events of an invented foundry to try things on.
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Claim } from '../../services/events/claim.ts'
import { type Accepted, type Decoded, decode } from '../../services/events/envelope.ts'
import type { Fact } from '../../services/events/fact.ts'
import type { JsonObject, JsonValue } from '../../services/events/statement.ts'

export interface Golden {
  event: JsonObject & { type: string; source: string; data: JsonObject }
  sentence: string
  claim: Partial<Claim>
  facts: Fact[]
  flags: string[]
}

const FOLDER = join(import.meta.dirname, '../golden/events')

/** When the door of the examples takes events in. */
export const RECORDED = Date.parse('2026-03-09T20:00:00-06:00')

/** Every golden event with the name of its file. */
export const GOLDENS: [string, Golden][] = readdirSync(FOLDER).flatMap((file) =>
  (JSON.parse(readFileSync(join(FOLDER, file), 'utf8')) as Golden[]).map(
    (golden, i): [string, Golden] => [`${file.replace(/\.json$/, '')} ${i + 1}`, golden],
  ),
)

/** A tap, with some of it otherwise. */
export function tap(data: JsonObject = {}, attributes: JsonObject = {}): JsonObject {
  return {
    specversion: '1.0',
    id: 'tap-1',
    source: 'https://events.quarry-ford.example/plant/quarry-ford/melt/F1',
    type: 'melt.heat-tapped.v1',
    time: '2026-03-02T07:50:00-06:00',
    data: { heat: 'H1', furnace: 'F1', ladle: 'L1', kg: 500, ...data },
    ...attributes,
  }
}

/** An event of some type, whoever may say it. */
export function event(type: string, data: JsonValue, attributes: JsonObject = {}): JsonObject {
  const station = type.slice(0, type.indexOf('.'))
  const source = `https://events.quarry-ford.example/plant/quarry-ford/${station}`
  return tap({}, { type, source, data, ...attributes })
}

export function bytesOf(value: JsonValue): Uint8Array {
  return Buffer.from(JSON.stringify(value))
}

/** As the door takes it. */
export function atDoor(value: JsonValue): Decoded {
  return decode(bytesOf(value), { recorded: RECORDED })
}

/** As the consumer takes it. */
export function inLog(value: JsonObject): Decoded {
  return decode(bytesOf({ recordedtime: '2026-03-02T14:00:00Z', ...value }))
}

export function accepted(decoded: Decoded): Accepted {
  if (!decoded.ok) throw new Error(`${decoded.class}: ${decoded.reason}`)
  return decoded
}
