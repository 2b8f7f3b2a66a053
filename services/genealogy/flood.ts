import type { Ms } from '../events/fact.ts'
import type { AsideClass } from '../store/kept-record.ts'

const WINDOW_MS = 60_000
const MOST_BAD = 100
const MOST_BAD_SHARE = 0.05

/** So many bad events that the fault must be on our side or at a door: the partition is stopped. */
export class FloodError extends Error {
  readonly code = 'FLOOD_OF_BAD_EVENTS'

  constructor(topic: string, partition: number, { bad, total }: FloodCounts) {
    super(
      `FLOOD_OF_BAD_EVENTS: ${bad} of the last ${total} events of ${topic}/${partition} are bad, and nothing more of it is taken in. Nothing is lost: see what was set aside, put the cause right and start again.`,
    )
    this.name = 'FloodError'
  }
}

export interface FloodCounts {
  bad: number
  total: number
}

/** Watches one partition for a flood of bad events: over 100 in a minute, and over 5 % of all. */
export class FloodGauge {
  #minute: (FloodCounts & { at: Ms })[] = []
  #next = 0n

  /**
   * Counts what a batch came to, each record once however often it is delivered. What is of a type
   * not known yet is not bad. Answers the counts when it is a flood.
   */
  add(
    at: Ms,
    records: readonly { offset: bigint; aside: AsideClass | undefined }[],
  ): FloodCounts | undefined {
    const fresh = records.filter(({ offset }) => offset >= this.#next)
    if (fresh.length === 0) return undefined
    this.#next = fresh.at(-1)!.offset + 1n
    const bad = fresh.filter(({ aside }) => aside !== undefined && aside !== 'UNKNOWN').length
    this.#minute = this.#minute.filter((batch) => batch.at > at - WINDOW_MS)
    this.#minute.push({ at, bad, total: fresh.length })
    const sum = { bad: 0, total: 0 }
    for (const batch of this.#minute) {
      sum.bad += batch.bad
      sum.total += batch.total
    }
    return sum.bad > MOST_BAD && sum.bad > MOST_BAD_SHARE * sum.total ? sum : undefined
  }
}
