// Things as the answers show them. A thing is its number until more is asked: what is said of it is
// then read for all things of the page at once, and kept for the rest of the request.
import type { Ms, Name, TracedKind } from '../../events/fact.ts'
import type { Store } from '../../store/connect.ts'
import { type PlantName, splitName } from '../../store/dictionary.ts'
import type { HeldFact } from '../../store/held-fact.ts'
import { readNames, readNumbers } from '../../store/read.ts'
import { readReports } from '../../store/read-reports.ts'
import { readFirst, readInto } from '../../store/read-things.ts'
import { batched } from '../batch.ts'
import type { PageArgs } from '../connections.ts'
import type { Context } from '../context.ts'
import { type Account, accountsOf } from './account.ts'
import { plantTime } from './amounts.ts'
import { CASTING_THINGS } from './casting-things.ts'
import { MATERIAL_THINGS } from './material-things.ts'
import { MELT_THINGS } from './melt-things.ts'
import { MOLD_THINGS } from './mold-things.ts'
import { PACK_THINGS } from './pack-things.ts'
import { reportsAbout } from './reports.ts'
import { idOf, isShown, type Known, NOW, type Thing, type ThingKind, type Things } from './thing.ts'

const KINDS: Readonly<Record<TracedKind, ThingKind>> = {
  ...MATERIAL_THINGS,
  ...MELT_THINGS,
  ...MOLD_THINGS,
  ...CASTING_THINGS,
  ...PACK_THINGS,
}

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

function thing(home: string, known: Known): Thing {
  const [word, number] = splitName(known.name)
  if (!isShown(word)) throw new Error(`${known.name} is of no kind that is shown.`)
  const kind = KINDS[word]
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
