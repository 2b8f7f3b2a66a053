// The number of an answer holds its question and its moment, so that it comes out again after a
// restart, on another process, or from the database made anew.
import { deflateRawSync, inflateRawSync } from 'node:zlib'

/** Questions whose answers have a number. */
const QUESTIONS = [
  'origins',
  'reach',
  'chart',
  'rateChart',
  'capability',
  'defectRates',
  'complaintRates',
  'concentration',
  'reconcile',
  'causes',
] as const
export type Question = (typeof QUESTIONS)[number]

/** A question with its arguments and the recorded moment it was answered at. Unit: ms. */
export interface Asked {
  question: Question
  args: object
  asOf: number
}

export function answerId({ question, args, asOf }: Asked): string {
  const packed = deflateRawSync(JSON.stringify([asOf, args])).toString('base64url')
  return `${question}:${packed}`
}

/** Undefined for what is not the number of an answer. */
export function askedIn(id: string): Asked | undefined {
  const [word, packed] = id.split(':')
  const question = QUESTIONS.find((known) => known === word)
  if (!question || !packed || packed.length > 4000) return undefined
  try {
    const text = inflateRawSync(Buffer.from(packed, 'base64url'), {
      maxOutputLength: 20_000,
    }).toString('utf8')
    const [asOf, args] = JSON.parse(text) as [unknown, unknown]
    if (typeof asOf !== 'number' || typeof args !== 'object' || args === null) return undefined
    return { question, args, asOf }
  } catch {
    return undefined
  }
}
