// How far the database is behind the log, and what of it could not be read.
import type { Span } from '../log/log.ts'
import type { Prompt } from '../log/prompt.ts'
import type { Store } from '../store/connect.ts'
import { readPositions } from '../store/read.ts'
import { countSetAsideByClass } from '../store/read-aside.ts'
import type { Measures } from '../watch/measures.ts'

/** Records of the log behind the positions read so far, by topic. */
export function behind(
  spans: readonly Span[],
  positions: ReadonlyMap<string, bigint>,
): Map<string, number> {
  const waiting = new Map<string, number>()
  for (const { topic, partition, first, next } of spans) {
    const read = positions.get(`${topic}/${partition}`) ?? first
    // The end was asked for first: what was read since must not make up for what is missing elsewhere.
    const left = next > read ? Number(next - read) : 0
    waiting.set(topic, (waiting.get(topic) ?? 0) + left)
  }
  return waiting
}

/** By topic; undefined when the log does not say where it ends. */
async function lagOf(store: Store, ends: Prompt<Span[]>): Promise<Map<string, number> | undefined> {
  const spans = await ends.ask()
  if (!spans) return undefined
  const positions = await readPositions(store.pool)
  const read = positions.map((each) => [`${each.topic}/${each.partition}`, each.next] as const)
  return behind(spans, new Map(read))
}

/** How many records of the log are not in the database; undefined when that is not known. */
export async function recordsLeft(store: Store, ends: Prompt<Span[]>): Promise<number | undefined> {
  const lag = await lagOf(store, ends)
  return lag && [...lag.values()].reduce((sum, left) => sum + left, 0)
}

export function measureLag(measures: Measures, store: Store, ends: Prompt<Span[]>): void {
  const name = 'heat_to_pan_log_lag'
  measures.gauge(name, 'Records of the log not in the database, by topic.', async () =>
    [...((await lagOf(store, ends)) ?? [])].map(([topic, left]) => [{ topic }, left]),
  )
}

export function measureSetAside(measures: Measures, store: Store): void {
  measures.gauge('heat_to_pan_set_aside', 'Reports set aside, by class.', async () =>
    [...(await countSetAsideByClass(store.pool))].map(([sort, count]) => [{ class: sort }, count]),
  )
}
