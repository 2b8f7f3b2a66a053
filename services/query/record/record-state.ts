// What the database says of the record beside its facts: how far stations were heard, what was set aside.
// Read once for each state of the record, since many ask at the same time.
import type { Ms } from '../../events/fact.ts'
import {
  type AsideRead,
  countSetAsideSince,
  readAsideUntil,
  readSetAsideNaming,
} from '../../store/read-aside.ts'
import { type Heard, readHeard } from '../../store/read-heard.ts'
import type { Context } from '../context.ts'
import type { Snapshot } from './snapshot.ts'

/** Newest reports of a partition that tell what gaps are usual. */
const LOOKED_AT = 200
/** Beyond, the database is asked each time. */
const MOST_ASIDE = 300

interface State {
  version: number
  heard?: Promise<Heard[]>
  /** By the moment up to which they count. */
  aside: Map<Ms, Promise<AsideRead[]>>
}

const states = new WeakMap<Snapshot, Map<string, State>>()

async function stateOf(context: Context): Promise<State> {
  const snapshot = await context.snapshot()
  const byPlant = states.get(snapshot) ?? new Map<string, State>()
  states.set(snapshot, byPlant)
  const known = byPlant.get(context.plant)
  if (known?.version === snapshot.version) return known
  const state: State = { version: snapshot.version, aside: new Map() }
  byPlant.set(context.plant, state)
  return state
}

/** The newest reports of each topic. */
export async function heardIn(context: Context): Promise<Heard[]> {
  const state = await stateOf(context)
  const read = () => readHeard(context.store.pool, context.plant, LOOKED_AT)
  state.heard ??= forgotten(read(), () => delete state.heard)
  return state.heard
}

/** What was set aside, as an answer as of a moment has to know it. */
export async function asideIn(context: Context, asOf: Ms) {
  const { aside } = await stateOf(context)
  const { pool } = context.store
  const { plant } = context
  const read = () => readAsideUntil(pool, plant, asOf, MOST_ASIDE + 1)
  const known = aside.get(asOf) ?? forgotten(read(), () => aside.delete(asOf))
  aside.set(asOf, known)
  const all = await known
  const isAll = all.length <= MOST_ASIDE
  return {
    countSince: (from: Ms) =>
      isAll
        ? all.filter(({ recorded }) => recorded >= Math.floor(from)).length
        : countSetAsideSince(pool, plant, from, asOf),
    naming: (words: readonly string[]) =>
      isAll
        ? all.filter(({ bytes }) => words.some((word) => bytes.includes(word)))
        : readSetAsideNaming(pool, plant, words, asOf),
  }
}

/** What could not be read is read again by the next who asks. */
function forgotten<T>(reading: Promise<T>, forget: () => unknown): Promise<T> {
  return reading.catch((error) => {
    forget()
    throw error
  })
}
