import { GraphQLScalarType, Kind } from 'graphql'
import { momentOf, momentText } from '../events/moment.ts'
import { refusal } from './refusal.ts'

/**
 * The scalar DateTime: comes in as RFC 3339 with an offset and is milliseconds inside. Goes out as a
 * station wrote it where it is text, and in universal time where it is milliseconds.
 */
export const dateTime = new GraphQLScalarType<number, string>({
  name: 'DateTime',
  description:
    'A moment as RFC 3339 writes it, such as 2026-02-12T07:14:00-06:00. What a station said keeps ' +
    "the station's own offset.",
  specifiedByURL: 'https://scalars.graphql.org/andimarek/date-time',
  serialize(value) {
    if (typeof value === 'string') return value
    if (typeof value === 'number') return momentText(value)
    throw new TypeError(`A DateTime must be text or milliseconds, and this is ${typeof value}.`)
  },
  parseValue: read,
  parseLiteral: (node) => read(node.kind === Kind.STRING ? node.value : undefined),
})

function read(written: unknown): number {
  const moment = typeof written === 'string' ? momentOf(written) : undefined
  if (moment === undefined)
    throw refusal(
      'BAD_USER_INPUT',
      'A DateTime is written as in 2026-02-12T07:14:00-06:00, with its offset or Z.',
    )
  return moment
}
