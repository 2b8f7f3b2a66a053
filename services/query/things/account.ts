// What the statements in force say of things: each read once more by its type, so that every field is
// in the unit it is kept in.
import { read } from '../../events/catalog.ts'
import type { Claim } from '../../events/claim.ts'
import type { Fact, Ms } from '../../events/fact.ts'
import type { Store } from '../../store/connect.ts'
import { inForceAmong, placeText } from '../../store/read-in-force.ts'
import { type Report, readReports } from '../../store/read-reports.ts'
import { readPlacesAbout } from '../../store/read-things.ts'

/** What one statement in force says. */
export interface Account {
  /** Type without its major; of a correction, that of the event it corrects. */
  base: string
  /** Its data, each field in the unit it is kept in. */
  said: object
  facts: readonly Fact[]
  /** When it ended. Unit: ms. */
  at: Ms
  /** The same as written, by the plant's own clock. */
  time: string
  claim: Claim
  report: Report
}

/** Of each thing, what is said about it, by time. */
export async function accountsOf(
  { pool }: Store,
  things: readonly number[],
  asOf: Ms,
): Promise<Map<number, Account[]>> {
  const named = await readPlacesAbout(pool, things)
  const places = named.map(({ place }) => place)
  const holding = await inForceAmong(pool, places, asOf)
  const distinct = new Map(places.map((place) => [placeText(place), place]))
  const reports = await readReports(
    pool,
    [...holding].map((place) => distinct.get(place)!),
  )
  const accounts = new Map(reports.map((report) => [placeText(report.place), accountOf(report)]))
  const found = new Map<number, Account[]>(things.map((no) => [no, []]))
  for (const { no, place } of named) {
    const account = accounts.get(placeText(place))
    if (account) found.get(no)!.push(account)
  }
  for (const all of found.values()) all.sort(byTime)
  return found
}

/** What a report says, as if it were in force. */
export function accountOf(report: Report): Account {
  const { statement } = report
  const { data, claim, facts } = read(statement)
  const base = claim.about.split(' ', 1)[0]!
  const { at, time } = statement
  const account = { base, said: data as object, facts, at, time, claim, report }
  if (statement.type !== 'quality.record-corrected.v1') return account
  // A correction gives the event's data anew; when it happened stays.
  const { event, data: said } = data as { event: { time: Ms }; data: object }
  const { event: written } = statement.entered as { event: { time: string } }
  return { ...account, said, at: event.time, time: written.time }
}

function byTime(a: Account, b: Account): number {
  return a.at - b.at || (placeText(a.report.place) < placeText(b.report.place) ? -1 : 1)
}
