// Sums up what reports say about counts, the way a clerk would: nothing here knows the simulator.
import type { JsonObject } from '../../services/events/statement.ts'
import type { PlantEvent } from '../../services/plant/report.ts'

interface Run {
  line: string
  series?: string
  first: number
  last: number
}

interface Counts {
  /** By pour, castings its molds come to. */
  cast: Map<string, number>
  /** By pour, castings that went into loads at the shake-out. */
  shaken: Map<string, number>
  /** By pack, castings in it now. */
  packs: Map<string, number>
  /** Loads that go into a step otherwise than they left the one before. */
  gaps: string[]
}

export function countsOf(sent: readonly PlantEvent[]): Counts {
  const events = inForce(sent)
  const ofType = (type: string) => events.filter((event) => event.type === type)
  return {
    cast: castOf(ofType),
    shaken: shakenOf(ofType('clean.castings-shaken-out.v1')),
    packs: packsOf(ofType),
    gaps: gapsOf(events),
  }
}

type OfType = (type: string) => PlantEvent[]

/** Without what was corrected, taken back, sent twice or is no event of its station. */
function inForce(sent: readonly PlantEvent[]): PlantEvent[] {
  const gone = new Set<string>()
  for (const { source, supersedes, type, data } of sent) {
    if (supersedes) gone.add(`${source} ${supersedes}`)
    const event = data.event as { source: string; id: string } | undefined
    if (type === 'quality.record-voided.v1') gone.add(`${event!.source} ${event!.id}`)
  }
  const kept = new Map<string, PlantEvent>()
  for (const event of sent) {
    const key = `${event.source} ${event.id}`
    if (!gone.has(key) && !event.id.endsWith('-b1')) kept.set(key, event)
  }
  return [...kept.values()]
}

function castOf(ofType: OfType): Map<string, number> {
  const mounted = ofType('mold.pattern-mounted.v1').map(({ data }) => data)
  const lost = ofType('mold.molds-lost.v1').map(({ data }) => data)
  const cast = new Map<string, number>()
  for (const { data } of ofType('pour.molds-poured.v1')) {
    const run = data as unknown as Run
    const on = (other: JsonObject) => other.line === run.line && other.series === run.series
    const plate = mounted
      .filter((one) => on(one) && (one.fromMold as number) <= run.first)
      .reduce((a, b) => ((b.fromMold as number) >= (a.fromMold as number) ? b : a))
    const open = (plate.cavities as JsonObject[]).filter(({ blocked }) => !blocked).length
    let castings = (run.last - run.first + 1) * open
    for (const loss of lost.filter(on)) {
      const from = Math.max(loss.first as number, run.first)
      const until = Math.min(loss.last as number, run.last)
      if (until >= from)
        castings -= (until - from + 1) * open - ((loss.castingsKept as number) ?? 0)
    }
    cast.set(data.pour as string, castings)
  }
  return cast
}

function shakenOf(events: readonly PlantEvent[]): Map<string, number> {
  const shaken = new Map<string, number>()
  for (const { data } of events) {
    for (const { of, castings } of data.sources as { of: string; castings: number }[]) {
      const pour = of.slice('pour:'.length)
      shaken.set(pour, (shaken.get(pour) ?? 0) + castings)
    }
  }
  return shaken
}

function packsOf(ofType: OfType): Map<string, number> {
  const packs = new Map<string, number>()
  const add = (pack: unknown, castings: number) => {
    const sum = (packs.get(`pack:${pack}`) ?? 0) + castings
    if (sum === 0) packs.delete(`pack:${pack}`)
    else packs.set(`pack:${pack}`, sum)
  }
  for (const { data } of ofType('ship.pans-packed.v1')) {
    for (const line of data.lines as { castings: number }[]) add(data.pack, line.castings)
  }
  for (const { data } of ofType('ship.packs-repacked.v1')) {
    for (const { pack, castings } of data.outOf as unknown as Line[]) add(pack, -castings)
    for (const { pack, castings } of data.into as unknown as Line[]) add(pack, castings)
  }
  for (const { data } of ofType('ship.castings-returned.v1')) {
    for (const { pack, castings } of data.lines as unknown as Line[]) add(pack, -castings)
  }
  return packs
}

interface Line {
  pack: string
  castings: number
}

/** Each load from step to step: what goes in is what came out before, less what inspection took. */
function gapsOf(events: readonly PlantEvent[]): string[] {
  const standing = new Map<string, number>()
  const gaps: string[] = []
  for (const { type, data, id } of events.toSorted(byEnd)) {
    const took = (of: string, castings: number) => {
      standing.set(of, (standing.get(of) ?? 0) - castings)
      if (standing.get(of)! < 0) gaps.push(`${id}: ${of} gives ${castings}, more than it had`)
    }
    if (type === 'inspect.castings-inspected.v1') {
      const [of] = data.of as string[]
      for (const { castings } of data.defects as { castings: number }[]) took(of!, castings)
    }
    if (!/^(clean|season)\./.test(type)) continue
    const load = `load:${data.load}`
    const removed = (data.removed ?? []) as { castings: number; into?: string }[]
    const out = removed.reduce((sum, { castings }) => sum + castings, data.castings as number)
    const into = (data.castingsIn as number | undefined) ?? out
    if (into !== out) gaps.push(`${id}: ${into} in, ${out} out`)
    const before = standing.get(load)
    const loads = ((data.sources ?? []) as { of: string; castings: number }[]).filter(({ of }) =>
      of.startsWith('load:'),
    )
    for (const { of, castings } of loads) took(of, castings)
    if (!data.sources && before !== undefined && before !== into) {
      gaps.push(`${id}: ${load} had ${before} and goes in with ${into}`)
    }
    standing.set(load, data.castings as number)
    for (const { into, castings } of removed) {
      if (into) standing.set(into, (standing.get(into) ?? 0) + castings)
    }
  }
  return gaps
}

function byEnd(a: PlantEvent, b: PlantEvent): number {
  return Date.parse(a.time) - Date.parse(b.time)
}
