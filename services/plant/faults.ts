// What goes wrong with reports: a few of everything a plant gets wrong, each written down in the
// truth. What happened on the floor stays as it was.
import type { JsonObject } from '../events/statement.ts'
import { DAY, HOUR, MINUTE } from './clock.ts'
import type { FaultName } from './fault.ts'
import { PLANT } from './names.ts'
import type { Random } from './random.ts'
import type { PlantEvent, Report } from './report.ts'
import type { World } from './world.ts'

/** Part of the reports that is sent twice. */
const TWICE = 0.004

export function plantFaults(world: World): void {
  const faults = new Faults(world)
  faults.correct('melt.charge-weighed.v1', 4, (data) => {
    const line = (data.lines as JsonObject[])[1]!
    const kg = line.kg as number
    line.kg = kg * 10
    return `${String(line.of)} stood at ten times the ${kg} kg that were weighed.`
  })
  faults.correct('melt.heat-tapped.v1', 7, (data) => {
    const kg = data.kg as number
    data.kg = kg - 100
    return `The tap stood at ${kg - 100} kg for ${kg} kg.`
  })
  faults.correct('ship.pans-packed.v1', 14, (data) => {
    const line = (data.lines as JsonObject[])[0]!
    const castings = line.castings as number
    line.castings = castings + 12
    return `The pack stood at 12 castings more than the ${castings} in it.`
  })
  faults.repeatAndVoid()
  faults.loseCharge()
  faults.loseSources()
  faults.spoil()
  faults.sendTwice()
}

class Faults {
  readonly #world: World
  readonly #random: Random
  /** Reports that a fault is in already, or that nothing is done to. */
  readonly #taken = new Set<Report>()

  constructor(world: World) {
    this.#world = world
    this.#random = world.random('faults')
  }

  /** A wrong figure, put right a while later by the same station. */
  correct(type: string, hour: number, mistake: (data: JsonObject) => string): void {
    const report = this.#find(type, hour)
    if (!report) return
    const right = eventOf(report)
    const wrong = structuredClone(right)
    const sentence = mistake(wrong.data)
    report.body = wrong
    this.#note('corrected', right, sentence)
    const correction = { ...byHand(right), id: `${right.id}-c1`, supersedes: right.id }
    this.#send(report.reaches + this.#random.between(25, 150) * MINUTE, correction)
  }

  /** An addition reported once too often, and taken back by quality. */
  repeatAndVoid(): void {
    const report = this.#find('melt.heat-alloyed.v1', 9)
    if (!report) return
    const right = eventOf(report)
    const again = { ...byHand(right), id: `${right.id}-x1` }
    this.#note('voided', again, `The addition to ${right.subject} was reported twice.`)
    this.#send(report.reaches + 4 * MINUTE, again)
    const { source, id, type, subject } = again
    const at = report.reaches + 3 * HOUR
    this.#send(at + MINUTE, {
      specversion: '1.0',
      id: 'records-00001',
      source: PLANT + '/quality/records',
      type: 'quality.record-voided.v1',
      ...(subject ? { subject } : {}),
      time: this.#world.post.text(at),
      entry: 'hand',
      datacontenttype: 'application/json',
      data: {
        event: { source, id, type, ...(subject ? { subject } : {}) },
        reason: 'Reported twice; it was added once.',
        by: 'q3',
      },
    })
  }

  /** A charge nobody reported: heats name it all the same. */
  loseCharge(): void {
    const report = this.#find('melt.charge-weighed.v1', this.#lastDay(12.5))
    if (!report) return
    const event = eventOf(report)
    this.#note('never-reported', event, `${event.subject} was never reported.`)
    this.#world.post.drop(report)
  }

  /** A load of which nobody scanned what went in. */
  loseSources(): void {
    const report = this.#find(
      'season.load-oiled.v1',
      this.#lastDay(7.5),
      (data) => 'sources' in data,
    )
    if (!report) return
    const event = eventOf(report)
    const { sources, ...data } = event.data
    report.body = { ...event, data }
    const from = (sources as JsonObject[]).map((source) => source.of).join(' and ')
    this.#note('not-scanned', event, `Nobody scanned that ${event.subject} came from ${from}.`)
  }

  /** Reports that a door has to refuse, each sent shortly before the station got it right. */
  spoil(): void {
    const spoilt: [FaultName, string, number, (event: PlantEvent) => string | undefined][] = [
      [
        'misspelt-field',
        'melt.heat-tapped.v1',
        3,
        ({ data }) => {
          data.celcius = data.celsius!
          delete data.celsius
          return undefined
        },
      ],
      [
        'wrong-unit',
        'melt.heat-tapped.v1',
        5,
        ({ data }) => set(data, 'kg', { value: 500, unit: 'CEL' }),
      ],
      ['negative-weight', 'receive.returns-collected.v1', 10, ({ data }) => set(data, 'kg', -912)],
      [
        'impossible-chemistry',
        'melt.heat-sampled.v1',
        6,
        ({ data }) => set(data.chemistry as JsonObject, 'Si', 205.1),
      ],
      [
        'unknown-type',
        'clean.load-washed.v1',
        8,
        (event) => {
          event.type = 'clean.load-rinsed.v1'
          return undefined
        },
      ],
      [
        'wrong-station',
        'season.load-oiled.v1',
        11,
        (event) => {
          event.source = event.source.replace('/season/', '/clean/')
          return undefined
        },
      ],
      ['malformed', 'pour.molds-poured.v1', 12, (event) => JSON.stringify(event).slice(0, -9)],
    ]
    for (const [fault, type, hour, spoil] of spoilt) {
      const report = this.#find(type, hour)
      if (!report) continue
      const event = structuredClone(eventOf(report))
      event.id += '-b1'
      const text = spoil(event)
      this.#note(fault, event, `${event.id} is at fault, and was sent again as it should be.`)
      this.#send(report.reaches - 1000, text ?? event, fault)
    }
  }

  sendTwice(): void {
    for (const report of [...this.#world.post.reports]) {
      if (this.#taken.has(report) || !this.#random.chance(TWICE)) continue
      const event = eventOf(report)
      this.#note('duplicate', event, `${event.id} was sent twice.`)
      this.#send(report.reaches + this.#random.between(0.3, 40) * MINUTE, event, 'duplicate')
    }
  }

  /** The first report of a type from an hour of the first day on, that no fault is in. */
  #find(type: string, hour: number, fits = (_: JsonObject) => true): Report | undefined {
    const from = this.#world.start + hour * HOUR
    const report = this.#world.post.reports.find(
      (one) =>
        one.reaches >= from &&
        typeof one.body === 'object' &&
        one.body.type === type &&
        !this.#taken.has(one) &&
        fits(one.body.data),
    )
    if (report) this.#taken.add(report)
    return report
  }

  #lastDay(hour: number): number {
    return hour + ((this.#world.days - 1) * DAY) / HOUR
  }

  #note(fault: FaultName, { source, id }: PlantEvent, sentence: string): void {
    this.#world.truth.faults.push({ fault, source, id, sentence })
  }

  #send(reaches: number, body: PlantEvent | string, fault?: FaultName): void {
    this.#taken.add(this.#world.post.send(reaches, body, fault))
  }
}

/** Typed in by hand: the machine did not count it. */
function byHand({ sequence: _, senttime: __, ...event }: PlantEvent): PlantEvent {
  return { ...event, entry: 'hand' }
}

function eventOf(report: Report): PlantEvent {
  if (typeof report.body === 'string')
    throw new Error('a fault was put into a report that is no event')
  return report.body
}

function set(data: JsonObject, name: string, value: JsonObject | number): undefined {
  data[name] = value
}
