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
  /** Loads and totes that more or less came out of than went into them. */
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

/** Each load and tote: what comes out of it went into it, less what inspection took. */
function gapsOf(events: readonly PlantEvent[]): string[] {
  const standing = new Map<string, number>()
  const gaps: string[] = []
  const put = (into: string, castings: number) => {
    standing.set(into, (standing.get(into) ?? 0) + castings)
  }
  const take = ({ of, castings, emptied }: Source, id: string) => {
    if (!/^(load|tote):/.test(of)) return
    put(of, -castings)
    const left = standing.get(of)!
    if (left < 0 || (emptied && left > 0)) gaps.push(`${id}: ${castings} of ${of} leave ${left}`)
  }
  const moments = events.flatMap(({ type, data, time, id }) => {
    if (type === 'inspect.castings-inspected.v1') {
      const [of] = data.of as string[]
      const scrapped = (data.defects as unknown as Defect[]).filter(({ fate }) => fate === 'scrap')
      return scrapped.map(({ castings }) => moment(time, () => take({ of: of!, castings }, id)))
    }
    if (type === 'ship.pans-packed.v1') {
      const sources = (data.lines as unknown as { sources: Source[] }[]).flatMap((l) => l.sources)
      return sources.map((source) => moment(time, () => take(source, id)))
    }
    if (!/^(clean|season)\./.test(type)) return []
    const handling = data as unknown as Handling
    const { castings, castingsIn, endedAt, removed = [], sources, startedAt, tote } = handling
    const load = `load:${handling.load}`
    const out = removed.reduce((sum, one) => sum + one.castings, castings)
    const into = castingsIn ?? out
    const begin = () => {
      if (into !== out) gaps.push(`${id}: ${into} in, ${out} out`)
      const before = standing.get(load)
      if (!sources && before !== into) gaps.push(`${id}: ${load} had ${before}, not ${into}`)
      for (const source of sources ?? []) take(source, id)
    }
    const end = () => {
      standing.set(load, tote ? 0 : castings)
      if (tote) put(`tote:${tote}`, castings)
      for (const one of removed) if (one.into) put(one.into, one.castings)
    }
    return [moment(startedAt, begin), moment(endedAt, end)]
  })
  for (const { act } of moments.sort((a, b) => a.at - b.at)) act()
  return gaps
}

const moment = (time: string, act: () => void) => ({ at: Date.parse(time), act })

interface Handling {
  load: string
  castings: number
  castingsIn?: number
  sources?: Source[]
  removed?: { castings: number; into?: string }[]
  tote?: string
  startedAt: string
  endedAt: string
}

interface Source {
  of: string
  castings: number
  emptied?: boolean
}

interface Defect {
  castings: number
  fate?: string
}
