// The dictionary of things: the only table that all writers share. Names are put in first, in a
// statement of their own and in one order, so that writers wait for each other briefly and never in a
// circle; and they are never taken out, so a number once given holds.
import type { Name } from '../events/fact.ts'
import { copyRows, type RowOf, table, textArray } from './columns.ts'
import type { Database } from './connect.ts'
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
  refusal(things: () => readonly PlantName[]): string | undefined {
    if (this.#refusals.size === 0) return undefined
    const refused = things().find(({ plant, name }) => this.#refusals.has(`${plant}/${name}`))
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
  const names = new Map<string, Set<Name>>()
  for (const { plant, name } of things) {
    const known = names.get(plant)
    if (known) known.add(name)
    else names.set(plant, new Set([name]))
  }
  const distinct = [...names.keys()]
    .sort()
    .flatMap((plant) => [...names.get(plant)!].sort().map((name) => ({ plant, name })))
  await numberAll(database, distinct, numbers)
  return numbers
}

async function numberAll(database: Database, things: PlantName[], numbers: Numbers): Promise<void> {
  if (things.length === 0) return
  try {
    // Where others name the same things at the same moment, theirs are found in the next round.
    while (!(await numberOnce(database, things, numbers)));
  } catch (error) {
    if (!isRefusal(error)) throw error
    if (things.length === 1) return numbers.refuse(things[0]!, error.message)
    const half = things.length >> 1
    await numberAll(database, things.slice(0, half), numbers)
    await numberAll(database, things.slice(half), numbers)
  }
}

/** False when another writer was first with one of the names: then nothing was put in. */
async function numberOnce(
  database: Database,
  things: PlantName[],
  numbers: Numbers,
): Promise<boolean> {
  const given = await ask(database, FIND_OR_GIVE, things)
  const fresh = things.map((thing, i) => ({ ...thing, no: -given[i]! })).filter(({ no }) => no > 0)
  try {
    await copyRows(database, THING, fresh.map(thingRow))
  } catch (error) {
    if (isTaken(error)) return false
    throw error
  }
  things.forEach((thing, i) => {
    numbers.add(thing, Math.abs(given[i]!))
  })
  return true
}

function isTaken(error: unknown): boolean {
  return error instanceof Error && 'code' in error && error.code === '23505'
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
  const found = await ask(database, FIND, things)
  things.forEach((thing, i) => {
    if (found[i]) numbers.add(thing, found[i])
  })
}

/** A number for each of the things. */
async function ask(
  database: Database,
  text: string,
  things: readonly PlantName[],
): Promise<number[]> {
  const { rows } = await database.query<{ listed: number[] }>(text, arraysOf(things))
  return rows[0]!.listed
}

const ASKED = `
  from unnest($1::text[], $2::text[], $3::text[]) with ordinality
    as asked (plant, kind, name, place)
  left join thing using (plant, kind, name)`

/** 0 where there is none. */
const FIND = `select json_agg(coalesce(no, 0) order by place) as listed ${ASKED}`

/** Below zero where it is given now, rising in the order asked. */
const FIND_OR_GIVE = `
  select json_agg(no order by place) as listed
  from (select place, coalesce(no, -nextval('thing_no_seq')) as no
    from (select place, no ${ASKED} order by place) as found) as numbered`

// Not waiting for the disk: a statement that uses the numbers comes behind them, and cannot reach it
// without them.
export const THING = table(
  'thing',
  { no: 'integer', plant: 'text', kind: 'text', name: 'text' },
  'set local synchronous_commit = off;',
)

export function thingRow({ plant, name, no }: PlantName & { no: number }): RowOf<typeof THING> {
  const [kind, id] = splitName(name)
  return { no, plant, kind, name: id }
}

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
