import { STATIONS, type Station } from './fact.ts'

/** Who speaks: a station of a plant, or one machine of it. */
export interface Source {
  plant: string
  station: Station
  machine?: string
}

const SOURCE = new RegExp(
  '^https://[a-z0-9](?:[a-z0-9.-]{0,251}[a-z0-9])?(?::[0-9]{1,5})?' +
    `/plant/([a-z0-9-]{1,20})/(${STATIONS.join('|')})(?:/([A-Za-z0-9._~-]{1,64}))?$`,
)

export const SOURCE_FORM = 'https://<domain>/plant/<plant>/<station> or …/<station>/<machine>'

/** Plant, station and machine of a CloudEvents source; undefined when it does not name them. */
export function sourceOf(source: string): Source | undefined {
  const parts = SOURCE.exec(source)
  if (!parts) return undefined
  const [, plant, station, machine] = parts
  const named = { plant: plant!, station: station as Station }
  return machine === undefined ? named : { ...named, machine }
}

export const SOURCE_PATTERN = SOURCE.source
