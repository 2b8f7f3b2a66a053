import type { Ms } from '../../events/fact.ts'
import type { Ask } from '../hand/asks.ts'

/** From what comes first, where neither has a limit, to what comes last. */
export const SORTS = [
  'HURT',
  'RECALL',
  'CALLS',
  'CALL_BACK',
  'HOLD',
  'SET_ASIDE',
  'MISFIT',
  'COMPLAINT',
  'DRILL',
] as const

/** The GraphQL object Waiting, but for what follows from its limit. */
export interface Waits {
  sort: (typeof SORTS)[number]
  sentence: string
  about: string | null
  since: Ms | null
  due: Ms | null
  source: string | null
  settledBy: Ask
}
