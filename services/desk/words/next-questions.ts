// Questions that lead on: to which page each goes, and which everybody of a role may begin with.
import { PAGES_OF_ROLES } from './owners.ts'

/** As the house offers it. */
export interface Offered {
  sentence: string
  question: string
  of: string | null
}

/** A question as a sentence, and the page that answers it. */
export interface Next {
  sentence: string
  address: string
}

/** Pages by the question they answer, with the name of what it is asked of. */
const PAGES: Readonly<Record<string, readonly [page: string, of: string]>> = {
  ORIGINS: ['/origins', 'of'],
  REACH: ['/reach', 'from'],
  INQUIRY: ['/inquiry', 'mark'],
  COMPLAINTS: ['/report', 'of'],
  CALLS: ['/calls', 'of'],
  SET_ASIDE: ['/set-aside', 'of'],
  MISFITS: ['/origins', 'of'],
  DRILLS: ['/drill', 'of'],
}

/** What begins the number of an answer: it opens again as it was given. */
const ANSWERS: ReadonlySet<string> = new Set([
  ...['origins', 'reach', 'concentration', 'reconcile', 'causes'],
  ...['defectRates', 'complaintRates', 'chart', 'rateChart', 'capability'],
])

/** Things that have a page of their own; all else is shown by the reports that name it. */
const PAGES_OF_KINDS: Readonly<Record<string, string>> = {
  recall: '/recall',
  hold: '/recall',
  drill: '/drill',
}

/** Undefined for a question that no page answers. */
export function nextOf({ sentence, question, of }: Offered): Next | undefined {
  if (question === 'NODE' && of !== null) return { sentence, address: addressOfThing(of) }
  if (question === 'RATES' && of !== null)
    return { sentence, address: `/rates?${new URLSearchParams({ by: 'LOT', lot: of })}` }
  const page = PAGES[question]
  if (!page) return undefined
  const [path, name] = page
  return {
    sentence,
    address: of === null ? path : `${path}?${new URLSearchParams({ [name]: of })}`,
  }
}

export function nextsOf(asks: readonly Offered[]): Next[] {
  return asks.flatMap((ask) => nextOf(ask) ?? [])
}

/** Where a thing, matter, report or answer is shown, by its id. */
export function addressOfThing(id: string): string {
  const kind = id.slice(0, id.indexOf(':'))
  if (ANSWERS.has(kind)) return `/answer?${new URLSearchParams({ id })}`
  const of = new URLSearchParams({ of: id })
  return `${PAGES_OF_KINDS[kind] ?? '/report'}?${of}`
}

/** No menu: the question that each page answers for those who hold nothing. */
const SENTENCES: Readonly<Record<string, string>> = {
  '/waiting': 'What waits for me?',
  '/inquiry': 'May a caller be reassured about a mark?',
  '/origins': 'Where did a pan, pack or heat come from?',
  '/reach': 'Where did a lot or heat go?',
  '/causes': 'What had the bad castings that the others had not?',
  '/rates': 'Do defects follow what was charged?',
  '/recall': 'What is on hold or recalled?',
  '/floor': 'Which packs are to be found?',
  '/drill': 'Can a pack be traced in time?',
  '/set-aside': 'What could not be read?',
  '/calls': 'Whom am I to call?',
}

/** What somebody may ask; each once, however many roles they have. */
export function questionsOf(roles: readonly string[]): Next[] {
  const addresses = new Set(roles.flatMap((role) => PAGES_OF_ROLES[role] ?? []))
  return [...addresses].map((address) => ({ sentence: SENTENCES[address]!, address }))
}
