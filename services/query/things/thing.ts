// What a thing is to the answers, before anything said of it is read.
import { type Ms, type Name, THINGS, type TracedKind } from '../../events/fact.ts'
import type { HeldFact } from '../../store/held-fact.ts'
import type { Account } from './account.ts'

/** The GraphQL object Thing: what its kind adds are methods `(args, context)`. */
export interface Thing {
  __typename: string
  /** Its number in the store; undefined for a name the store has never met. */
  no: number | undefined
  id: string
  kind: string
  number: string
  asOf: Ms
}

/** The GraphQL input ThingBy: exactly one of the three. */
export interface ThingBy {
  id?: string
  mark?: string
  scan?: string
}

/** Loads things, many at once; what is asked again within a request comes from memory. */
export interface Things {
  /** Throws for a number the store has never given. */
  one(no: number, asOf?: Ms): Promise<Thing>
  /** In the order asked. */
  many(nos: readonly number[], asOf?: Ms): Promise<Thing[]>
  /** By `kind:id`; one the store has never met is unreported. */
  named(plant: string, name: Name, asOf?: Ms): Promise<Thing>
  /** Its number in the store; undefined for a name the store has never met. */
  numberOf(plant: string, name: Name): Promise<number | undefined>
  /** What the statements in force say about a thing, by time. */
  accounts(no: number, asOf?: Ms): Promise<readonly Account[]>
  /** Facts in force that name a thing as what went in, by time. */
  into(no: number, sort: HeldFact['fact']['what'], asOf?: Ms): Promise<readonly HeldFact[]>
  /** The first moment a vessel is named by a fact in force, as the plant's clock shows it. */
  first(no: number, asOf?: Ms): Promise<string | undefined>
}

/** What is known of a thing before anything said about it is read. */
export interface Known {
  no: number | undefined
  plant: string
  name: Name
  asOf: Ms
}

/** What makes the things of one kind. */
export interface ThingKind {
  typename: string
  /** Nothing reports it by itself: it is known by what is done with it. */
  vessel?: true
  /** Types, without their majors, that report such a thing. */
  reportedBy: readonly string[]
  /** When it came to be, of the reports by which it is reported; absent: the end of the first. */
  at?(accounts: readonly Account[]): Ms
  /** What it has beyond what every thing has. */
  fields?(known: Known): object
}

/** Beyond all recorded time, and a number the database can hold. */
export const NOW = Number.MAX_SAFE_INTEGER

export function isShown(kind: string): kind is TracedKind {
  return (THINGS as readonly string[]).includes(kind)
}

/** The id by which a house of plant `home` calls a thing. */
export function idOf(home: string, { plant, name }: { plant: string; name: Name }): string {
  return plant === home ? name : `${plant}/${name}`
}
