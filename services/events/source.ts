import { STATIONS, type Station } from './fact.ts'

/** Who speaks: a station of a plant, or one machine of it. */
export interface Source {
  plant: string
  station: Station
  machine?: string
}

/** Pattern of the sources of some stations; its groups are plant, station and machine. */
export function sourcePattern(stations: readonly Station[]): string {
  const domain = 'https://[a-z0-9](?:[a-z0-9.-]{0,251}[a-z0-9])?(?::[0-9]{1,5})?'
  const machine = '(?:/([A-Za-z0-9._~-]{1,64}))?'
  return `^${domain}/plant/([a-z0-9-]{1,20})/(${stations.join('|')})${machine}$`
}

const SOURCE = new RegExp(sourcePattern(STATIONS))

export const SOURCE_FORM = 'https://<domain>/plant/<plant>/<station> or …/<station>/<machine>'

/** Plant, station and machine of a CloudEvents source; undefined when it does not name them. */
export function sourceOf(source: string): Source | undefined {
  const parts = SOURCE.exec(source)
  if (!parts) return undefined
  const [, plant, station, machine] = parts
  const named = { plant: plant!, station: station as Station }
  return machine === undefined ? named : { ...named, machine }
}
