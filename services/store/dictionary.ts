// The dictionary of things: the only table that all writers share. Names are put in first, in a
// statement of their own and in one order, so that writers wait for each other briefly and never in a
// circle; and they are never taken out, so a number once given holds.
import type { Name } from '../events/fact.ts'
import { textArray } from './columns.ts'
import { type Database, queryRows } from './connect.ts'
import { isRefusal } from './refusal.ts'

/** A thing by name: its plant, and `kind:id` inside it. */
export interface PlantName {
  plant: string
  name: Name
}

/** Numbers by name, and why the database takes no such name. */
export class Numbers {
  readonly #numbers = new Map<string, Map<Name, number>>()
  readonly #refusals = new Map<string, string>()

  add({ plant, name }: PlantName, no: number): void {
    const ofPlant = this.#numbers.get(plant)
    if (ofPlant) ofPlant.set(name, no)
    else this.#numbers.set(plant, new Map([[name, no]]))
  }

  find({ plant, name }: PlantName): number | undefined {
    return this.#numbers.get(plant)?.get(name)
  }

  /** Throws for a name that was not asked for. */
  of(thing: PlantName): number {
    const no = this.find(thing)
    if (no === undefined) throw new Error(`${thing.plant}/${thing.name} has no number`)
    return no
  }

  refuse({ plant, name }: PlantName, reason: string): void {
    this.#refusals.set(`${plant}/${name}`, reason)
  }

  /** Why the first of the things that has no number has none. */
  refusal(things: readonly PlantName[]): string | undefined {
    if (this.#refusals.size === 0) return undefined
    const refused = things.find(({ plant, name }) => this.#refusals.has(`${plant}/${name}`))
    return refused && this.#refusals.get(`${refused.plant}/${refused.name}`)
  }
}

/**
 * The numbers of things, given now to those that have none. Nothing is remembered between calls: a
 * database that was put back to an earlier state must never meet numbers it does not know.
 */
export async function numberThings(
  database: Database,
  things: Iterable<PlantName>,
): Promise<Numbers> {
  const numbers = new Numbers()
  const distinct = [...Map.groupBy(things, ({ plant }) => plant)].flatMap(([plant, own]) =>
    [...new Set(own.map(({ name }) => name))].map((name) => ({ plant, name })),
  )
  await numberAll(database, distinct, numbers)
  return numbers
}

async function numberAll(database: Database, things: PlantName[], numbers: Numbers): Promise<void> {
  if (things.length === 0) return
  try {
    await findAll(database, things, numbers)
    const missing = things.filter((thing) => numbers.find(thing) === undefined)
    if (missing.length === 0) return
    await database.query(INSERT, arraysOf(missing))
    await findAll(database, missing, numbers)
  } catch (error) {
    if (!isRefusal(error)) throw error
    if (things.length === 1) return numbers.refuse(things[0]!, error.message)
    const half = things.length >> 1
    await numberAll(database, things.slice(0, half), numbers)
    await numberAll(database, things.slice(half), numbers)
  }
}

/** The numbers of those things that have one. */
export async function findThings(
  database: Database,
  things: readonly PlantName[],
): Promise<Numbers> {
  const numbers = new Numbers()
  if (things.length > 0) await findAll(database, things, numbers)
  return numbers
}

async function findAll(
  database: Database,
  things: readonly PlantName[],
  numbers: Numbers,
): Promise<void> {
  const values = arraysOf(things)
  const found = await queryRows<[number, number]>(database, 'place, no', FIND, values)
  for (const [place, no] of found) numbers.add(things[place - 1]!, no)
}

const FIND = `
  from unnest($1::text[], $2::text[], $3::text[]) with ordinality
    as asked (plant, kind, name, place)
  join thing using (plant, kind, name)`

const INSERT = `
  insert into thing (plant, kind, name)
  select plant, kind, name
  from unnest($1::text[], $2::text[], $3::text[]) as new (plant, kind, name)
  order by plant collate "C", kind collate "C", name collate "C"
  on conflict do nothing`

function arraysOf(things: readonly PlantName[]): string[] {
  const parts = things.map(({ name }) => splitName(name))
  return [
    textArray(things.map(({ plant }) => plant)),
    textArray(parts.map(([kind]) => kind)),
    textArray(parts.map(([, id]) => id)),
  ]
}

/** `kind:id` in its two parts. */
export function splitName(name: Name): [kind: string, id: string] {
  const colon = name.indexOf(':')
  return [name.slice(0, Math.max(colon, 0)), name.slice(colon + 1)]
}
