import type { Kind } from '../events/fact.ts'

/**
 * A GraphQL Thing: `__typename`, the fields its statements say, and methods `(args, context)` for
 * what is loaded when asked. `asOf` goes along to everything reached through it.
 */
export interface Thing {
  __typename: string
  no: number
  id: string
  kind: Kind
  number: string
  reported: boolean
  at?: string | number
  asOf: number | undefined
}

/** Loads things by their store numbers, many at once; asked again within a request, from memory. */
export interface Things {
  /** Throws for a number the store has never given. */
  one(no: number, asOf?: number): Promise<Thing>
  /** In the order asked. */
  many(nos: readonly number[], asOf?: number): Promise<Thing[]>
}
