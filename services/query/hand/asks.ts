// Which questions may be asked next of a thing, by whom. The page that asks is for others to make.
import { hasOneOf, type Role, type Who } from '../../access/who.ts'

/** Named as in the schema. */
export type NextQuestion =
  | 'ORIGINS'
  | 'REACH'
  | 'INQUIRY'
  | 'BATH'
  | 'RECONCILE'
  | 'RATES'
  | 'NODE'
  | 'COMPLAINTS'
  | 'CALLS'
  | 'SET_ASIDE'
  | 'MISFITS'
  | 'DRILLS'

/** The GraphQL object Ask. */
export interface Ask {
  sentence: string
  question: NextQuestion
  of: string | null
}

interface Asking {
  question: NextQuestion
  roles: readonly Role[]
  sentence(label: string): string
}

const TRACED: readonly Role[] = ['quality', 'analyst']

const ORIGINS: Asking = {
  question: 'ORIGINS',
  roles: TRACED,
  sentence: (label) => `Where did ${label} come from?`,
}
const REACH: Asking = {
  question: 'REACH',
  roles: ['quality'],
  sentence: (label) => `Where did ${label} go?`,
}
const RECONCILE: Asking = {
  question: 'RECONCILE',
  roles: TRACED,
  sentence: (label) => `Is all of ${label} accounted for?`,
}
const RATES: Asking = {
  question: 'RATES',
  roles: TRACED,
  sentence: (label) => `Did more of ${label} mean more defects?`,
}
const NODE: Asking = {
  question: 'NODE',
  roles: TRACED,
  sentence: (label) => `What is known of ${label}?`,
}
const BATH: Asking = {
  question: 'BATH',
  roles: TRACED,
  sentence: (label) => `What was in ${label}, and when?`,
}
const COMPLAINTS: Asking = {
  question: 'COMPLAINTS',
  roles: TRACED,
  sentence: (label) => `What did the caller of ${label} say?`,
}

/** Of each kind, the question most often asked first. */
const OF_KIND: Readonly<Record<string, readonly Asking[]>> = {
  lot: [REACH, RATES, RECONCILE, NODE],
  bin: [REACH, NODE],
  charge: [REACH, RECONCILE, NODE],
  furnace: [BATH, NODE],
  heat: [ORIGINS, REACH, RECONCILE, NODE],
  ladle: [ORIGINS, REACH, RECONCILE, NODE],
  sand: [REACH, NODE],
  molds: [REACH, NODE],
  pour: [ORIGINS, REACH, RECONCILE, NODE],
  load: [ORIGINS, REACH, RECONCILE, NODE],
  tote: [NODE],
  pack: [ORIGINS, REACH, RECONCILE, NODE],
  pan: [ORIGINS, NODE],
  shipment: [NODE],
  complaint: [COMPLAINTS],
}

/** What the reader may ask of a thing, a matter or an answer. */
export function asksOf(
  who: Who,
  kind: string,
  { id, label }: { id: string; label: string },
): Ask[] {
  return (OF_KIND[kind] ?? [NODE])
    .filter(({ roles }) => hasOneOf(who, roles))
    .map(({ question, sentence }) => ({
      sentence: sentence(label),
      question,
      of: question === 'BATH' ? id.slice(id.indexOf(':') + 1) : id,
    }))
}

/** What a rep asks of a mark. */
export function asksOfMark(mark: string): Ask[] {
  return [{ sentence: `May a caller with ${mark} be reassured?`, question: 'INQUIRY', of: mark }]
}
