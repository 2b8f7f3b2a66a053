// Who is asking or reporting, as a token says it.
import { STATIONS, type Station } from '../events/fact.ts'

/** What somebody may be in the plant; the words stand in tokens. */
export const ROLES = ['quality', 'service', 'analyst', 'station', 'admin'] as const
export type Role = (typeof ROLES)[number]

export interface Who {
  /** By which the issuer of the token knows them; what they decide is kept under it. */
  subject: string
  roles: ReadonlySet<Role>
  /** The plant they belong to: they are told of no other, and report for no other. */
  plant: string
  /** Whose reports they may send; empty unless they are a station. */
  stations: ReadonlySet<Station>
  /** Until when they are let in. Unit: ms. */
  untilMs: number
}

/** Those that report; quality decides, and decisions come in by no door. */
export const REPORTING: readonly Station[] = STATIONS.filter((station) => station !== 'quality')

export function isRole(word: unknown): word is Role {
  return (ROLES as readonly unknown[]).includes(word)
}

export function hasOneOf({ roles }: Who, wanted: readonly Role[]): boolean {
  for (const role of wanted) if (roles.has(role)) return true
  return false
}
