// Mishaps in any number, each on request: what a plant that is short of hands does to its reports. What
// happened on the floor stays as it was.
import type { JsonObject } from '../events/statement.ts'
import { HOUR, MINUTE } from './clock.ts'
import { MISHAPS, type Mishap, type Swap } from './fault.ts'
import type { Random } from './random.ts'
import type { PlantEvent, Report } from './report.ts'
import type { World } from './world.ts'

/** Of all reports: sent hours late, sent twice, never sent, sent with a wrong figure. */
const PART = { late: 0.02, duplicated: 0.01, missing: 0.02, mistaken: 0.003 }
/** Of all charges: a lot named for another, a weight slipped. Of all additions to a heat: none told. */
const OF_CHARGES = { swapped: 0.06, slipped: 0.06 }
const FORGOTTEN = 0.06

export function plantMishaps(world: World, mishaps: readonly Mishap[]): void {
  // Each by its own chance, so that one asked for more moves no other.
  for (const mishap of MISHAPS) {
    if (mishaps.includes(mishap)) DO[mishap](world, world.random('mishap ' + mishap))
  }
}

const DO: Record<Mishap, (world: World, random: Random) => void> = {
  swapped(world, random) {
    for (const [event, data] of charges(world, random, OF_CHARGES.swapped)) {
      const lines = metallics(data)
      const line = lines.length > 0 ? random.pick(lines) : undefined
      const other = line && otherLot(world, random, event, line)
      if (!other) continue
      const swap = { of: line.of as string, said: other, kg: line.kg as number }
      line.of = other
      const sentence = `${swap.of} went in and ${other} was written down.`
      note(world, 'swapped', event, sentence, { swap })
    }
  },
  slipped(world, random) {
    for (const [event, data] of charges(world, random, OF_CHARGES.slipped)) {
      const lines = metallics(data)
      if (lines.length === 0) continue
      const line = random.pick(lines)
      const kg = line.kg as number
      line.kg = Math.round(kg * random.pick([0.1, 0.5, 2, 10]))
      note(
        world,
        'slipped',
        event,
        `${line.of} weighed ${kg} kg and was written down as ${line.kg}.`,
      )
    }
  },
  forgotten(world, random) {
    drop(
      world,
      'forgotten',
      ({ type }) => type === 'melt.heat-alloyed.v1' && random.chance(FORGOTTEN),
    )
  },
  mistaken(world, random) {
    for (const { body } of world.post.reports) {
      if (typeof body === 'string' || !random.chance(PART.mistaken)) continue
      const data = structuredClone(body.data)
      const told = mistake(random, data)
      if (!told) continue
      body.data = data
      note(world, 'mistaken', body, told)
    }
  },
  missing(world, random) {
    drop(world, 'missing', () => random.chance(PART.missing))
  },
  late(world, random) {
    for (const report of world.post.reports) {
      if (typeof report.body === 'string' || !random.chance(PART.late)) continue
      report.reaches += random.between(0.5, 14) * HOUR
      note(world, 'late', report.body, 'It was sent hours late.')
    }
  },
  duplicated(world, random) {
    for (const { body, reaches } of [...world.post.reports]) {
      if (typeof body === 'string' || !random.chance(PART.duplicated)) continue
      world.post.send(reaches + random.between(1, 90) * MINUTE, body, 'duplicate')
      note(world, 'duplicate', body, 'It was sent twice.')
    }
  },
}

/** Some of the charges, each with data of its own to be changed. */
function* charges(world: World, random: Random, part: number): Iterable<[PlantEvent, JsonObject]> {
  for (const { body } of world.post.reports) {
    if (typeof body === 'string' || body.type !== 'melt.charge-weighed.v1') continue
    if (!random.chance(part)) continue
    body.data = structuredClone(body.data)
    yield [body, body.data]
  }
}

/** Lines of a charge that are more than an alloy or carburizer comes to. */
function metallics(data: JsonObject): JsonObject[] {
  return (data.lines as JsonObject[]).filter(({ kg }) => typeof kg === 'number' && kg >= 60)
}

/** Another lot that lay in the yard and could be taken for it: of the steels, the irons, the returns. */
function otherLot(
  world: World,
  random: Random,
  { time }: PlantEvent,
  { of }: JsonObject,
): string | undefined {
  const at = Date.parse(time)
  const alike: string[] = []
  for (const { body } of world.post.reports) {
    if (typeof body === 'string' || body.type !== 'receive.lot-received.v1') continue
    const { lot, role, bin } = body.data
    const name = `lot:${lot}`
    if (role === 'metallic' && bin === undefined && name !== of && Date.parse(body.time) < at)
      alike.push(name)
  }
  return alike.length > 0 ? random.pick(alike) : undefined
}

/** Puts one wrong number or name into a report; what was done, or nothing where there is none to spoil. */
function mistake(random: Random, data: JsonObject): string | undefined {
  const numbers: { holder: JsonObject; name: string }[] = []
  const look = (value: unknown) => {
    if (Array.isArray(value)) value.forEach(look)
    else if (typeof value === 'object' && value !== null) {
      for (const [name, own] of Object.entries(value as JsonObject)) {
        if (typeof own === 'number' && own > 1 && SPOILT.has(name))
          numbers.push({ holder: value as JsonObject, name })
        else look(own)
      }
    }
  }
  look(data)
  if (numbers.length === 0) return undefined
  const { holder, name } = random.pick(numbers)
  const was = holder[name] as number
  const factor = random.pick([0.1, 0.9, 1.1, 2])
  holder[name] = Number.isInteger(was) ? Math.max(1, Math.round(was * factor)) : was * factor
  return `${name} stood at ${holder[name]} for ${was}.`
}

const SPOILT = new Set(['kg', 'castings', 'castingsIn', 'value', 'first', 'last', 'heelKg', 'tap'])

function drop(world: World, mishap: Mishap, gone: (event: PlantEvent) => boolean): void {
  const { reports } = world.post
  const kept: Report[] = []
  for (const report of reports) {
    if (typeof report.body === 'string' || !gone(report.body)) kept.push(report)
    else note(world, mishap, report.body, `${report.body.type} was never sent.`)
  }
  reports.splice(0, reports.length, ...kept)
}

function note(
  world: World,
  fault: Mishap | 'duplicate',
  { source, id, subject }: PlantEvent,
  sentence: string,
  more: { swap?: Swap } = {},
): void {
  world.truth.faults.push({ fault, source, id, subject, sentence, ...more })
}
