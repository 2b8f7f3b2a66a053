import type { Who } from '../access/who.ts'
import type { Station } from '../events/fact.ts'
import type { JsonObject } from '../events/statement.ts'
import type { Entry, Place } from '../log/log.ts'
import type { Receipt } from '../stations/door.ts'
import type { Store } from '../store/connect.ts'
import type { Place as ReportPlace } from '../store/kept-record.ts'
import type { Snapshot } from './record/snapshot.ts'
import type { Things } from './things/thing.ts'

/** What every resolver is given; made anew for each request, so what is loaded once stays the same. */
export interface Context {
  who: Who
  /** The plant of who asks: they are told of no other. Its things go by `kind:id`. */
  plant: string
  store: Store
  /** The ledger and the castings as followed so far. */
  snapshot(): Promise<Snapshot>
  things: Things
  reports: Reports
  /** Records in the log that are not in the store yet, by topic. Unit: reports. */
  waiting(): Promise<ReadonlyMap<string, number>>
  /**
   * Waits until the record holds all that the doors had taken in when it was asked, at most so long; what is
   * answered after that rests on what waited then. Absent, nothing is waited for. Unit: ms.
   */
  level?(withinMs: number): Promise<void>
  /** Why more may be waiting than is known, in words. Absent, all is always known. */
  unheard?(): Promise<readonly string[]>
  /** Before the station in the source of what is said from here, such as https://foundry.example/plant/main. */
  address: string
  /** Takes decisions in through a door; resolves when they are on disk. */
  decide(events: readonly JsonObject[]): Promise<Receipt[]>
  /** Puts a record into the log as it is, past the doors: for what was set aside alone. */
  append(station: Station, entry: Entry): Promise<Place>
  /** Unit: ms. */
  now(): number
}

/** Loads what is asked of reports, many at once. */
export interface Reports {
  /** The GraphQL object Report at a place; null when nothing stands there. */
  at(context: Context, place: ReportPlace): Promise<object | null>
  /** Whether the statement at a place is in force now. */
  isInForce(place: ReportPlace): Promise<boolean>
}
