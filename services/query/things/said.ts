// What reports say of one thing, and the small objects that several kinds of thing are shown with.
import type { Name } from '../../events/fact.ts'
import type { Quantity } from '../../events/field.ts'
import type { Context } from '../context.ts'
import type { Account } from './account.ts'
import { estimate, plantTime } from './amounts.ts'
import type { Known, Thing } from './thing.ts'

/** What one report says, as the type of its data is known to who asks. */
export interface Said<Data> {
  data: Data
  account: Account
}

/** What reports of some types say of a thing, by time; types without their majors. */
export async function saidOf<Data>(
  context: Context,
  { no, asOf }: Pick<Known, 'no' | 'asOf'>,
  ...bases: string[]
): Promise<Said<Data>[]> {
  if (no === undefined) return []
  const accounts = await context.things.accounts(no, asOf)
  return accounts
    .filter(({ base }) => bases.includes(base))
    .map((account) => ({ account, data: account.said as Data }))
}

/** The first that some reports say; undefined while there is none. */
export async function firstSaid<Data>(
  context: Context,
  known: Known,
  base: string,
): Promise<Said<Data> | undefined> {
  return (await saidOf<Data>(context, known, base))[0]
}

/** Another thing as a report of this one names it. */
export function namedBy(context: Context, { plant, asOf }: Known, name: Name): Promise<Thing> {
  return context.things.named(plant, name, asOf)
}

/** A line of what was weighed, added or used. */
export interface Use {
  of: Name
  kg?: Quantity
  targetKg?: Quantity
  purpose?: string
}

/** The GraphQL objects MassSource. */
export function massSources(context: Context, known: Known, uses: readonly Use[] = []): object[] {
  return uses.map(({ of, kg, targetKg, purpose }) => ({
    of: () => namedBy(context, known, of),
    kg: estimate(kg),
    targetKg: targetKg?.value ?? null,
    purpose: purpose ?? null,
  }))
}

export interface PieceUse {
  of: Name
  castings?: Quantity
  product?: string
}

/** The GraphQL objects PieceSource. */
export function pieceSources(
  context: Context,
  known: Known,
  uses: readonly PieceUse[] = [],
): object[] {
  return uses.map(({ of, castings, product }) => ({
    of: () => namedBy(context, known, of),
    castings: estimate(castings),
    product: named(product),
  }))
}

/** The GraphQL objects Product, Supplier and Customer; null when not said. */
export function named(name: string | undefined): { name: string } | null {
  return name === undefined ? null : { name }
}

/** The GraphQL object Machine. */
export function machine(name: string, station: string): object {
  return { name, station }
}

/** A moment a report tells of, by the clock it was written with. Unit: ms. */
export function momentIn({ account }: Said<unknown>, at: number | undefined): string {
  return at === undefined || at === account.at ? account.time : plantTime(at, account.time)
}

/** Things that took something from this one, by time, each once. */
export async function thingsInto(
  context: Context,
  { no, asOf }: Known,
  sort: 'heat-charged' | 'ladle-tapped' | 'poured',
): Promise<Thing[]> {
  if (no === undefined) return []
  const facts = await context.things.into(no, sort, asOf)
  return context.things.many([...new Set(facts.map(({ fact }) => fact.of))], asOf)
}
