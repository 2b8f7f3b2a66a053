// How a decision becomes an event: published once under the number the asker made for it, through a
// door like all that is said.
import type { JsonObject } from '../../events/statement.ts'
import { readReportsBy } from '../../store/read-reports.ts'
import type { Context } from '../context.ts'

/** What is to be said, by which station. */
export interface Saying {
  type: string
  data: JsonObject
  /** In a sentence, for the one who decided. */
  sentence: string
  /** `kind:number` of what it made or changed. */
  matter: string
}

/** The GraphQL union Decision. */
export type Decision = object

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/i

/** What was published lately by this process and may not be in the record yet, by number. */
const lately = new Map<string, Promise<Decision>>()
const LATELY_KEPT = 1_000

/** Publishes what `make` gives, unless it was published under this number before. */
export async function decideOnce(
  context: Context,
  number: string,
  station: 'quality' | 'inspect',
  make: () => Promise<Saying[] | Decision>,
): Promise<Decision> {
  if (!UUID.test(number)) return refused('input.reportId', 'Make a new UUID for each decision.')
  const key = `${context.plant} ${number.toLowerCase()}`
  if (lately.has(key)) {
    const known = await lately.get(key)!
    return isPublished(known) ? before(known.recordedAt) : known
  }
  const deciding = decide(context, number, station, make)
  if (lately.size >= LATELY_KEPT) lately.delete(lately.keys().next().value!)
  lately.set(key, deciding)
  try {
    const decision = await deciding
    // What was refused may be said again, put right.
    if (!isPublished(decision)) lately.delete(key)
    return decision
  } catch (error) {
    lately.delete(key)
    throw error
  }
}

function isPublished(decision: Decision): decision is { recordedAt: number } {
  return '__typename' in decision && decision.__typename === 'Published'
}

async function decide(
  context: Context,
  number: string,
  station: 'quality' | 'inspect',
  make: () => Promise<Saying[] | Decision>,
): Promise<Decision> {
  const known = await already(context, number, station)
  if (known) return known
  const sayings = await make()
  if (!Array.isArray(sayings)) return sayings
  const time = new Date(context.now()).toISOString()
  const receipts = await context.decide(
    sayings.map(({ type, data }, i) => ({
      specversion: '1.0',
      id: i === 0 ? number : `${number}.${i + 1}`,
      source: sourceOf(context, station),
      type,
      time,
      entry: 'hand',
      data,
    })),
  )
  const problems = receipts.flatMap((receipt) => receipt.problems)
  if (problems.length > 0)
    return {
      __typename: 'Refused',
      problems: problems.map(({ field, sentence }) => ({ field: `input.${field}`, sentence })),
    }
  const { sentence, matter } = sayings[0]!
  return {
    __typename: 'Published',
    sentence,
    matter,
    recordedAt: receipts.at(-1)!.recorded ?? context.now(),
  }
}

async function already(
  context: Context,
  number: string,
  station: string,
): Promise<Decision | undefined> {
  const [report] = await readReportsBy(context.store.pool, {
    source: sourceOf(context, station),
    id: number,
  })
  if (!report) return undefined
  return before(report.statement.recorded)
}

/** The GraphQL object AlreadyPublished. */
function before(recordedAt: number): Decision {
  return {
    __typename: 'AlreadyPublished',
    recordedAt,
    sentence: 'This was published before under the same number; nothing was added.',
  }
}

/** The GraphQL object Refused. */
export function refused(field: string, sentence: string): Decision {
  return { __typename: 'Refused', problems: [{ field, sentence }] }
}

function sourceOf({ address }: Context, station: string): string {
  return `${address}/${station}`
}

/** Who decides, as the record names people. */
export function decider({ who }: Context): string {
  return personOf(who.subject) || 'nobody'
}

/** The subject of a token as the record names people. */
export function personOf(subject: string): string {
  return subject.replaceAll(/[\s:\0]/g, '_').slice(0, 64)
}
