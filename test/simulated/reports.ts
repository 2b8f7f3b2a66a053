// What stations say in a simulated shift, and what others put into the log that is no report.
import type { JsonObject, JsonValue } from '../../services/events/statement.ts'
import type { Entry } from '../../services/log/log.ts'
import { entry, shift } from '../genealogy/events.ts'
import type { World } from './world.ts'

export interface Report {
  event: JsonObject & { source: string; id: string }
  /** As a door must find it. */
  good: boolean
}

export const TOPICS = ['receive', 'melt', 'quality'] as const

/** Reports of each source in the order in which it sends them: some late, some twice, some wrong. */
export function reportsOf(world: World, heats: number): Map<string, Report[]> {
  const events = shift(heats).map((each) => eventOf(entry(each)))
  const good = events.map((event): Report => ({ event, good: true }))
  const twice = good.filter(() => world.chance(0.1))
  const bad = good.filter(() => world.chance(0.05)).map(({ event }) => spoiled(world, event))
  const all = [...good, ...twice, ...bad]
  // Late and early alike: what corrects may come before what it corrects.
  const order = world.chance(0.5) ? all : world.shuffled(all)
  return Map.groupBy(order, ({ event }) => event.source)
}

function spoiled(world: World, event: Report['event']): Report {
  const data = { ...(event.data as JsonObject), lot: 7, heat: 7, charge: 7, ladle: 7 }
  return { event: { ...event, id: `bad-${world.whole(0, 1e9)}`, data }, good: false }
}

function eventOf({ value }: Entry): Report['event'] {
  const { recordedtime: _, ...event } = JSON.parse(Buffer.from(value).toString())
  return event
}

/** A record that no door has seen; each of these has to be set aside or taken in, and none to stop anything. */
export function smuggled(world: World): { topic: string; entry: Entry } {
  const no = world.whole(0, 1e9)
  const source = `https://foundry.example/plant/north/melt/F${world.whole(1, 2)}`
  const tap = (more: JsonObject, data: JsonObject = {}) => ({
    ...{ specversion: '1.0', id: `smuggled-${no}`, source, type: 'melt.heat-tapped.v1' },
    ...{ time: '2026-03-02T12:00:00Z', recordedtime: '2026-03-02T12:01:00Z' },
    ...{ datacontenttype: 'application/json', ...more },
    data: { heat: 'H-S', furnace: 'F1', ladle: `L-${no}`, kg: 500, ...data },
  })
  const value = world.pick<() => JsonValue | Buffer>([
    () => Buffer.from([0xff, 0xfe, 0, 0x80]),
    () => Buffer.alloc(0),
    () => tap({}, { kg: 'much' }),
    () => tap({}, { kg: -4 }),
    () => tap({ type: 'melt.heat-sung.v1' }),
    () => tap({ type: 'receive.lot-received.v1' }),
    // Read without complaint, and the database cannot hold it.
    () => tap({ senttime: 'a\u0000b' }),
    () => tap({}),
  ])()
  const bytes = Buffer.isBuffer(value) ? value : Buffer.from(JSON.stringify(value))
  return { topic: 'melt', entry: { key: source, value: bytes } }
}

/** A good report of another shift. */
export function reportOfNumber(no: number): Entry {
  const data = { heat: `X-${no}`, furnace: 'F1', ladle: `X-${no}`, kg: 600 }
  return entry({ type: 'melt.heat-tapped.v1', id: `other-${no}`, data })
}
