// A simulated foundry of which some loads did not say where their castings came from, and how near what
// is filled in comes to what really happened.
import { factsOf } from '../../services/events/catalog.ts'
import { decode } from '../../services/events/envelope.ts'
import type { Fact, Station } from '../../services/events/fact.ts'
import { Castings } from '../../services/metal/castings.ts'
import { simulate } from '../../services/plant/plant.ts'
import { type Random, randomOf } from '../../services/plant/random.ts'
import type { PlantEvent } from '../../services/plant/report.ts'
import type { Truth } from '../../services/plant/truth.ts'
import { HandRecord } from '../metal/record.ts'

export interface Unscanned {
  castings: Castings
  record: HandRecord
  truth: Truth
  /** Loads that did not say where their castings came from, with what they would have said. */
  silent: Map<string, { step: string; sources: { of: string; castings: number }[] }>
}

/** A foundry without other faults; `part` of the reports of each step leaves its sources out. */
export function unscanned(
  seed: number,
  days: number,
  part: number,
  keep: (fact: Fact) => boolean = () => true,
): Unscanned {
  const { reports, truth } = simulate({ seed, days, faults: false })
  const random = randomOf(seed, 'unscanned')
  const record = new HandRecord()
  const castings = new Castings(record)
  const silent: Unscanned['silent'] = new Map()
  const facts: Fact<number>[] = []
  for (const { body, reaches } of reports) {
    if (typeof body === 'string') continue
    const event = silenced(body, random, part, silent)
    const bytes = Buffer.from(
      JSON.stringify({ ...event, recordedtime: new Date(reaches).toISOString() }),
    )
    const topic = event.type.split('.')[0] as Station
    const decoded = decode(bytes, { topic })
    if (!decoded.ok) throw new Error(decoded.reason)
    for (const fact of factsOf(decoded.statement, decoded.data)) {
      if (keep(fact)) facts.push(record.numbered(fact))
    }
  }
  castings.apply(facts)
  return { castings, record, truth, silent }
}

/** The report without what it says of sources, now and then. */
function silenced(
  event: PlantEvent,
  random: Random,
  part: number,
  silent: Unscanned['silent'],
): PlantEvent {
  const { type, subject, data } = event
  if (type === 'ship.pans-packed.v1') {
    const lines = data.lines as unknown as Sourced[]
    if (!random.chance(part)) return event
    silent.set(subject!, { step: type, sources: lines.flatMap(({ sources = [] }) => sources) })
    const mute = lines.map(({ sources: _, ...line }) => line)
    return { ...event, data: { ...data, lines: mute } as unknown as PlantEvent['data'] }
  }
  const { sources, ...rest } = data as Sourced
  if (!sources || !/^(clean|season)\./.test(type) || !random.chance(part)) return event
  silent.set(subject!, { step: type, sources })
  return { ...event, data: rest as PlantEvent['data'] }
}

interface Sourced {
  sources?: { of: string; castings: number }[]
}
