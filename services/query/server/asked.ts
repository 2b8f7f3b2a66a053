// What is written down of a question: by whom, which, and what became of it; of the answer only its size.
import type { ServerResponse } from 'node:http'
import type { Deed } from '../../access/audit.ts'
import type { Who } from '../../access/who.ts'

/** Filled in as it becomes known. */
export interface Asked {
  who: Who
  beganMs: number
  operationName?: string | null
  hash?: string
  data?: unknown
  errors?: readonly { extensions?: { code?: unknown } }[]
}

export function askedBy(who: Who): Asked {
  return { who, beganMs: performance.now() }
}

export function deedOf(asked: Asked, { writableFinished, statusCode }: ServerResponse): Deed {
  const { who, hash, operationName, data, errors = [] } = asked
  const codes = [...new Set(errors.map(({ extensions }) => String(extensions?.code)))]
  const failure = writableFinished ? codes.join(' ') || statusOf(statusCode) : 'broken off'
  return {
    ...{ subject: who.subject, roles: who.roles, hash, rows: rowsIn(data) },
    what: operationName ? `question ${operationName}` : 'question',
    decision: failure === '' ? 'answered' : `refused: ${failure}`,
    seconds: Number(((performance.now() - asked.beganMs) / 1_000).toFixed(4)),
  }
}

function statusOf(status: number): string {
  return status < 400 ? '' : String(status)
}

/** What stands in lists. */
function rowsIn(value: unknown): number {
  if (typeof value !== 'object' || value === null) return 0
  const own = Array.isArray(value) ? value.length : 0
  return Object.values(value).reduce<number>((sum, part) => sum + rowsIn(part), own)
}
