// What a page says while there is no answer, or none that can be relied on. One place, so that every page
// says the same.
import type { Failure } from '../frame/ask.ts'
import { clockWords } from './moment.ts'

export const WORKING = 'Working it out'
export const SIGNED_OUT = 'Signed out. What you typed is kept here.'
export const STILL_WORKING = 'Still working'

/** Why there is no answer; `owners` are those whose page it is, where the reader is none of them. */
export function failureWords(failure: Failure, owners: readonly string[] = []): string {
  switch (failure.kind) {
    case 'disconnected':
      return 'The house cannot be reached.'
    case 'signed-out':
      return SIGNED_OUT
    case 'not-yours':
      return owners.length > 0
        ? `This page belongs to ${owners.join(' and ')}.`
        : 'This is not yours to ask.'
    case 'busy':
      return failure.byItself
        ? `Many are asking; again in ${failure.seconds} s.`
        : 'Many are asking. Try again in a moment.'
    case 'refused':
      return failure.sentence
    case 'broken':
      return `The desk could not answer (fault ${failure.fault}). Nothing was changed.`
  }
}

/** While there is no connection: what is read is old. */
export function disconnectedWords(since: Date, known: Date | undefined): string {
  const seen = known ? ` You see what was known at ${clockWords(known)}.` : ''
  return `Not connected since ${clockWords(since)}.${seen}`
}

/** A decision is not kept for later: it would be taken on what is old by then. */
export const NOT_SENT = 'Not sent. Telephone quality.'
