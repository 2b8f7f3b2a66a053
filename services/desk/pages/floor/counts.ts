// What was found on the floor, kept on the phone until the house has it, each under one number.
import { get, set, update } from 'idb-keyval'
import { askFound } from '../../asks/recall.ts'
import { ask, Unanswered } from '../../frame/ask.ts'
import type { ToFind } from '../covered.ts'

export interface Count {
  reportId: string
  /** The hold or recall. */
  under: string
  of: string
  /** All of it where it is null. */
  castings: number | null
  /** Empty where nobody told. */
  spot: string
  at: string
  /** Why the house does not take it: it is for a person to put right. */
  trouble?: string
}

/** The list as it was when the phone last had a connection. */
export interface KeptList {
  rows: ToFind[]
  /** Of what the hold or recall covers, not come in. Unit: parts. */
  partsMissing: number
  at: string
}

const COUNTS = 'floor-counts'

export async function countsKept(): Promise<Count[]> {
  return (await get<Count[]>(COUNTS)) ?? []
}

export async function keepCount(count: Count): Promise<void> {
  await update<Count[]>(COUNTS, (counts = []) => [...counts, count])
}

export function keepList(of: string, list: KeptList): Promise<void> {
  return set(`floor-list ${of}`, list)
}

export function listKept(of: string): Promise<KeptList | undefined> {
  return get<KeptList>(`floor-list ${of}`)
}

/** What was looked for in vain by this phone, and when: no report says so, since it stays not known. */
export type NotHere = Readonly<Record<string, string>>

export async function notHereKept(under: string): Promise<NotHere> {
  return (await get<NotHere>(`floor-not-here ${under}`)) ?? {}
}

export function keepNotHere(under: string, notHere: NotHere): Promise<void> {
  return set(`floor-not-here ${under}`, notHere)
}

/** Sends what is kept, oldest first; stops where there is no connection. Gives what is left. */
export async function sendCounts(): Promise<Count[]> {
  for (const count of await countsKept()) {
    if (count.trouble !== undefined) continue
    const { reportId, under, of, castings, spot } = count
    const input = { reportId, under, of: [{ of, castings }], disposition: 'KEPT_APART' as const }
    try {
      const { recordDisposition: outcome } = await ask(askFound, {
        input: { ...input, spot: spot || null, reason: 'Found on the floor.' },
      })
      const trouble =
        outcome.__typename === 'Refused'
          ? outcome.problems.map(({ sentence }) => sentence).join(' ')
          : undefined
      await settle(reportId, trouble)
    } catch (error) {
      if (!(error instanceof Unanswered)) throw error
      break
    }
  }
  return countsKept()
}

async function settle(reportId: string, trouble: string | undefined): Promise<void> {
  await update<Count[]>(COUNTS, (counts = []) =>
    counts.flatMap((count) => {
      if (count.reportId !== reportId) return [count]
      return trouble === undefined ? [] : [{ ...count, trouble }]
    }),
  )
}
