// From a record of the log to what the database keeps of it: a statement with its claim and facts, or
// the record itself with the reason why it is none. Decides nothing about other records.
import { claimOf, factsOf } from '../events/catalog.ts'
import { decode } from '../events/envelope.ts'
import { type Ms, STATIONS, type Station } from '../events/fact.ts'
import { momentOf } from '../events/moment.ts'
import { sourceOf } from '../events/source.ts'
import type { LogRecord } from '../log/log.ts'
import type { Aside, KeptRecord, Said } from '../store/kept-record.ts'

/** Whose topic it is. */
export function stationOf(topic: string, prefix = ''): Station {
  const station = STATIONS.find((name) => topic === prefix + name)
  if (!station) throw new Error(`${topic} is no topic of a station.`)
  return station
}

/** Reads one record that came by a station's topic, at a moment. */
export function readRecord(record: LogRecord, station: Station, taken: Ms): KeptRecord {
  const { topic, partition, offset, key, value: bytes } = record
  return { topic, partition, offset, key, bytes, taken, outcome: outcomeOf(bytes, station) }
}

function outcomeOf(bytes: Uint8Array, station: Station): Said | Aside {
  const decoded = decode(bytes, { topic: station })
  if (!decoded.ok) {
    const { class: sort, reason, problems } = decoded
    return { class: sort, reason, problems, ...peek(bytes) }
  }
  const { statement, data, flags } = decoded
  try {
    return { statement, claim: claimOf(statement, data), facts: factsOf(statement, data), flags }
  } catch (error) {
    // A fault of ours must not hold up what comes behind it; the next version takes it up again.
    const reason = `What it comes to could not be worked out, by a fault of this program: ${error}.`
    return { class: 'DOMAIN', reason, problems: [], ...peek(bytes) }
  }
}

/** Larger ones are not worth reading for their envelope. */
const PEEKED_BYTES = 1_000_000

/** As much of the envelope as can be read, for whoever looks at what was set aside. */
function peek(bytes: Uint8Array): Pick<Aside, 'plant' | 'source' | 'type' | 'recorded'> {
  if (bytes.length > PEEKED_BYTES) return {}
  let event: unknown
  try {
    event = JSON.parse(Buffer.from(bytes).toString())
  } catch {
    return {}
  }
  if (typeof event !== 'object' || event === null) return {}
  const text = (name: string) => {
    const value = (event as Record<string, unknown>)[name]
    return typeof value === 'string' ? value.slice(0, 400) : undefined
  }
  const source = text('source')
  return {
    source,
    plant: source && sourceOf(source)?.plant,
    type: text('type'),
    recorded: momentOf(text('recordedtime') ?? ''),
  }
}
