// Questions that lead on: to which page each goes, and which everybody of a role may begin with.

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

const WAITING: Next = { sentence: 'What waits for me?', address: '/waiting' }
const INQUIRY: Next = { sentence: 'May a caller be reassured about a mark?', address: '/inquiry' }
const ORIGINS: Next = { sentence: 'Where did a pan, pack or heat come from?', address: '/origins' }
const REACH: Next = { sentence: 'Where did a lot or heat go?', address: '/reach' }
const CAUSES: Next = {
  sentence: 'What had the bad castings that the others had not?',
  address: '/causes',
}
const RATES: Next = { sentence: 'Do defects follow what was charged?', address: '/rates' }
const RECALLS: Next = { sentence: 'What is on hold or recalled?', address: '/recall' }
const FLOOR: Next = { sentence: 'Which packs are to be found?', address: '/floor' }
const DRILL: Next = { sentence: 'Can a pack be traced in time?', address: '/drill' }
const SET_ASIDE: Next = { sentence: 'What could not be read?', address: '/set-aside' }
const CALLS: Next = { sentence: 'Whom am I to call?', address: '/calls' }

/** No menu: what each may ask without holding anything. */
const OF_ROLES: Readonly<Record<string, readonly Next[]>> = {
  quality: [WAITING, ORIGINS, REACH, CAUSES, RATES, RECALLS, FLOOR, DRILL, SET_ASIDE, INQUIRY],
  service: [INQUIRY, CALLS, WAITING],
  analyst: [RATES, CAUSES, ORIGINS, WAITING],
  admin: [WAITING, SET_ASIDE],
}

/** Whose page it is, when it is of none of these roles. */
export function ownersOf(path: string, roles: readonly string[]): string[] {
  const owners = Object.keys(OF_ROLES).filter((role) =>
    OF_ROLES[role]!.some(({ address }) => address === path),
  )
  return owners.some((role) => roles.includes(role)) ? [] : owners
}

/** What somebody may ask; each once, however many roles they have. */
export function questionsOf(roles: readonly string[]): Next[] {
  return [...new Set(roles.flatMap((role) => OF_ROLES[role] ?? []))]
}
