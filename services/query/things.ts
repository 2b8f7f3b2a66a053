// Things as the answers show them. A thing is its number until more is asked: what is said of it is
// then read for all things of the page at once, and kept for the rest of the request.
import type { Ms, Name } from '../events/fact.ts'
import type { Store } from '../store/connect.ts'
import { type PlantName, splitName } from '../store/dictionary.ts'
import { readNames, readNumbers } from '../store/read.ts'
import { readReports } from '../store/read-reports.ts'
import { type HeldFact, readFirst, readInto } from '../store/read-things.ts'
import { type Account, accountsOf } from './account.ts'
import { plantTime } from './amounts.ts'
import { batched } from './batch.ts'
import { CASTING_THINGS } from './casting-things.ts'
import type { PageArgs } from './connections.ts'
import type { Context } from './context.ts'
import { MELT_THINGS } from './melt-things.ts'
import { MOLD_THINGS } from './mold-things.ts'
import { reportsAbout } from './reports.ts'

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

const KINDS: Readonly<Record<string, ThingKind>> = {
  ...MELT_THINGS,
  ...MOLD_THINGS,
  ...CASTING_THINGS,
}

/** Beyond all recorded time, and a number the database can hold. */
export const NOW = Number.MAX_SAFE_INTEGER

export function thingsOver(store: Store, home: string): Things {
  const { pool } = store
  const names = batched((nos: readonly number[]) => readNames(pool, nos))
  const numbers = batched((keys: readonly string[]) => numbersOf(store, keys))
  const accounts = perMoment((asOf) =>
    batched((nos: readonly number[]) => accountsOf(store, nos, asOf)),
  )
  const into = perMoment((asOf) => batched((keys: readonly string[]) => intoOf(store, keys, asOf)))
  const first = perMoment((asOf) => batched((nos: readonly number[]) => firstOf(store, nos, asOf)))
  const numberOf = (plant: string, name: Name) => numbers(JSON.stringify({ plant, name }))

  async function one(no: number, asOf = NOW): Promise<Thing> {
    const name = await names(no)
    if (!name) throw new Error(`The store has given no thing the number ${no}.`)
    return thing(home, { ...name, no, asOf: Math.min(asOf, NOW) })
  }

  return {
    one,
    many: (nos, asOf) => Promise.all(nos.map((no) => one(no, asOf))),
    async named(plant, name, asOf = NOW) {
      const no = await numberOf(plant, name)
      return thing(home, { plant, name, no, asOf: Math.min(asOf, NOW) })
    },
    numberOf,
    accounts: (no, asOf) => accounts(asOf)(no),
    into: (no, sort, asOf) => into(asOf)(`${sort} ${no}`),
    first: (no, asOf) => first(asOf)(no),
  }
}

/** The id by which a house of plant `home` calls a thing. */
export function idOf(home: string, { plant, name }: { plant: string; name: Name }): string {
  return plant === home ? name : `${plant}/${name}`
}

/** Whether there are things of this kind to show. */
export function isShown(kind: string): boolean {
  return Object.hasOwn(KINDS, kind)
}

function thing(home: string, known: Known): Thing {
  const [word, number] = splitName(known.name)
  const kind = KINDS[word]
  if (!kind) throw new Error(`${known.name} is of no kind that is shown.`)
  return {
    __typename: kind.typename,
    no: known.no,
    id: idOf(home, known),
    kind: word.toUpperCase(),
    number,
    asOf: known.asOf,
    ...(kind.vessel ? vesselFields(known) : reportedFields(known, kind)),
    reports: (args: PageArgs, context: Context) => reportsAbout(context, known.no, args),
    ...kind.fields?.(known),
  } as Thing
}

function reportedFields({ no, asOf }: Known, kind: ThingKind) {
  async function reportedIn({ things }: Context): Promise<readonly Account[]> {
    const accounts = no === undefined ? [] : await things.accounts(no, asOf)
    return accounts.filter(({ base }) => kind.reportedBy.includes(base))
  }
  return {
    reported: async (_: unknown, context: Context) => (await reportedIn(context)).length > 0,
    at: async (_: unknown, context: Context) => {
      const accounts = await reportedIn(context)
      const [first] = accounts
      return first ? plantTime(kind.at?.(accounts) ?? first.at, first.time) : null
    },
  }
}

function vesselFields({ no, asOf }: Known) {
  const first = async ({ things }: Context) =>
    no === undefined ? undefined : things.first(no, asOf)
  return {
    reported: async (_: unknown, context: Context) => (await first(context)) !== undefined,
    at: async (_: unknown, context: Context) => (await first(context)) ?? null,
  }
}

function perMoment<Load>(make: (asOf: Ms) => Load): (asOf: Ms | undefined) => Load {
  const made = new Map<Ms, Load>()
  return (given = NOW) => {
    const asOf = Math.min(given, NOW)
    const known = made.get(asOf)
    if (known) return known
    const fresh = make(asOf)
    made.set(asOf, fresh)
    return fresh
  }
}

/** Keys are names with their plant, as JSON. */
async function numbersOf({ pool }: Store, keys: readonly string[]) {
  const things = keys.map((key): PlantName => JSON.parse(key))
  const found = await readNumbers(pool, things)
  return new Map(keys.map((key, i) => [key, found.find(things[i]!)]))
}

/** Keys are a sort of fact and the number of a thing. */
async function intoOf({ pool }: Store, keys: readonly string[], asOf: Ms) {
  const asked = keys.map((key) => key.split(' ') as [HeldFact['fact']['what'], string])
  const sorts = [...new Set(asked.map(([sort]) => sort))]
  const nos = [...new Set(asked.map(([, no]) => Number(no)))]
  const found = new Map<string, HeldFact[]>(keys.map((key) => [key, []]))
  for (const held of await readInto(pool, nos, sorts, asOf))
    if ('other' in held.fact) found.get(`${held.fact.what} ${held.fact.other}`)?.push(held)
  return found
}

async function firstOf({ pool }: Store, nos: readonly number[], asOf: Ms) {
  const found = new Map<number, string | undefined>()
  for (const no of nos) {
    const held = await readFirst(pool, no, asOf)
    const [report] = held ? await readReports(pool, [held.place]) : []
    found.set(no, held && report && plantTime(held.fact.at, report.statement.time))
  }
  return found
}
