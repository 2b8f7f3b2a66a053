// The reports of the invented foundry as they stand in a log behind a door.
import { decode, decodeEvent, encode } from '../../services/events/envelope.ts'
import type { Station } from '../../services/events/fact.ts'
import type { Entry } from '../../services/log/log.ts'
import { simulate } from '../../services/plant/plant.ts'

export interface Logged extends Entry {
  station: Station
}

/** What a door lets in of so many days, in the order it comes, each with the moment it reached the door. */
export function plantRecords(days: number, seed = 1): Logged[] {
  const logged: Logged[] = []
  let last = 0
  for (const { body, reaches } of simulate({ seed, days }).reports) {
    const recorded = Math.max(Math.round(reaches), last + 1)
    const decoded =
      typeof body === 'string'
        ? decode(Buffer.from(body), { recorded })
        : decodeEvent(JSON.parse(JSON.stringify(body)), { recorded })
    if (!decoded.ok) continue
    last = recorded
    const { statement } = decoded
    logged.push({ station: statement.station, key: statement.source, value: encode(statement) })
  }
  return logged
}
