import type { Station } from '../events/fact.ts'
import { STATIONS } from '../events/fact.ts'

/** The topic of a station; the prefix keeps several houses apart on one broker. */
export function topicOf(station: Station, prefix = ''): string {
  return prefix + station
}

/** The topics of all nine stations. */
export function topicsOf(prefix = ''): string[] {
  return STATIONS.map((station) => topicOf(station, prefix))
}
