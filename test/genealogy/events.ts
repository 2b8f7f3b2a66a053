// Events of an invented melt shop, as a door would have written them into the log.
import type { JsonObject } from '../../services/events/statement.ts'
import type { Entry } from '../../services/log/log.ts'

export interface Said {
  type: string
  id: string
  data: JsonObject
  /** Machine at the end of the source; none by default. */
  machine?: string
  plant?: string
  /** Minutes after the shift began. */
  minute?: number
  /** Minutes after that until the door took it in. */
  late?: number
  more?: JsonObject
}

const SHIFT = Date.UTC(2026, 2, 2, 12)

export const sourceOf = ({
  type,
  machine,
  plant = 'north',
}: Pick<Said, 'type' | 'machine' | 'plant'>) =>
  `https://foundry.example/plant/${plant}/${type.split('.')[0]}${machine ? `/${machine}` : ''}`

/** The record of an event in the log. */
export function entry(said: Said): Entry {
  const { type, id, data, minute = 0, late = 1, more } = said
  const source = sourceOf(said)
  const moment = (minutes: number) => new Date(SHIFT + minutes * 60_000).toISOString()
  const event = {
    ...{ specversion: '1.0', id, source, type, time: moment(minute) },
    ...{ recordedtime: moment(minute + late), datacontenttype: 'application/json', data },
    ...more,
  }
  return { key: source, value: Buffer.from(JSON.stringify(event)) }
}

/** `count` heats of two furnaces, each with a lot, a charge, a sample and two taps, corrections among them. */
export function shift(count: number): Said[] {
  return Array.from({ length: count }, (_, i) => heat(i)).flat()
}

function heat(i: number): Said[] {
  const [name, machine] = [`H-${i}`, `F${(i % 2) + 1}`]
  const at = (minute: number) => ({ minute: i * 30 + minute, machine })
  const tap = (no: number): JsonObject => ({
    ...{ heat: name, furnace: machine, ladle: `${name}-${no}`, tap: no, kg: 400 + no },
  })
  const said: Said[] = [
    {
      ...{ type: 'receive.lot-received.v1', id: `lot-${i}`, minute: i * 30 },
      data: { lot: `PI-${i}`, material: 'pig iron', role: 'metallic', kg: 900 + i, supplier: 'S1' },
    },
    {
      ...{ type: 'melt.charge-weighed.v1', id: `charge-${i}`, ...at(5) },
      data: {
        charge: `C-${i}`,
        lines: [
          { of: `lot:PI-${i}`, kg: 400.1 },
          { of: 'lot:STEEL', kg: 333 },
        ],
      },
    },
    {
      ...{ type: 'melt.heat-melted.v1', id: `heat-${i}`, ...at(20) },
      data: { heat: name, furnace: machine, charges: [{ charge: `C-${i}` }], heelKg: 0.1 * i },
    },
    { type: 'melt.heat-tapped.v1', id: `tap-${i}-1`, ...at(24), data: tap(1) },
    { type: 'melt.heat-tapped.v1', id: `tap-${i}-2`, ...at(27), data: tap(2) },
  ]
  const tapped = said[3]!
  // A correction by the station, one by quality, a void, and a rival under another id.
  if (i % 4 === 0)
    said.push({
      ...tapped,
      id: `tap-${i}-1b`,
      data: { ...tap(1), kg: 380 },
      late: 9,
      more: { supersedes: tapped.id },
    })
  if (i % 4 === 1) said.push(decision('corrected', i, tapped, { data: { ...tap(1), kg: 390 } }))
  if (i % 4 === 2) said.push(decision('voided', i, tapped, {}))
  if (i % 4 === 3)
    said.push({ ...tapped, id: `tap-${i}-rival`, data: { ...tap(1), kg: 370 }, late: 12 })
  return said
}

function decision(verb: 'corrected' | 'voided', i: number, on: Said, more: JsonObject): Said {
  const event: JsonObject = {
    ...{ source: sourceOf(on), id: on.id, type: on.type, subject: `ladle:${on.data.ladle}` },
  }
  if (verb === 'corrected') event.time = new Date(SHIFT + on.minute! * 60_000).toISOString()
  return {
    ...{ type: `quality.record-${verb}.v1`, id: `decision-${i}`, minute: i * 30 + 29 },
    data: { event, reason: 'the scale was read wrong', by: 'Q7', ...more },
  }
}
