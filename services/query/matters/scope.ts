// What a decision covers: things named one by one, or all that an answer of `reach` says to hold.
import type { GraphQLSchema } from 'graphql'
import type { JsonObject } from '../../events/statement.ts'
import { answerAgain } from '../answers/again.ts'
import { ReachAnswer } from '../answers/reach.ts'
import { groupBy, summed, toHold } from '../answers/reach-rows.ts'
import type { Context } from '../context.ts'
import { find } from '../things/name.ts'
import { type Decision, refused } from './publish.ts'

/** The GraphQL input ScopeOf: exactly one of the two. */
export interface ScopeOf {
  things?: { of: string; castings?: number | null }[] | null
  answer?: string | null
}

export interface ScopeLine {
  of: string
  castings?: number
}

/** Lines of a scope, and what they rest on; a Decision when they cannot be. */
export type Scoped = { lines: ScopeLine[]; basedOn?: string } | { decision: Decision }

/** `evenIfChanged` false: refused as "look again" when what is to be held has changed since the answer. */
export async function scopeOf(
  context: Context,
  schema: GraphQLSchema,
  of: ScopeOf,
  evenIfChanged: boolean,
): Promise<Scoped> {
  if (of.answer != null) return scopeOfAnswer(context, schema, of.answer, evenIfChanged)
  const lines: ScopeLine[] = []
  for (const [i, thing] of (of.things ?? []).entries()) {
    const found = await find(context, { id: thing.of })
    if (found.found !== 'one')
      return {
        decision: refused(
          `input.of.things.${i}.of`,
          found.found === 'none' ? found.sentence : `${thing.of} may be several things.`,
        ),
      }
    lines.push({ of: found.name, ...(thing.castings != null && { castings: thing.castings }) })
  }
  if (lines.length === 0)
    return { decision: refused('input.of.things', 'Name one thing at least.') }
  return { lines }
}

async function scopeOfAnswer(
  context: Context,
  schema: GraphQLSchema,
  answer: string,
  evenIfChanged: boolean,
): Promise<Scoped> {
  const wrong = (sentence: string) => ({ decision: refused('input.of.answer', sentence) })
  const then = await answerAgain(context, schema, answer)
  if (!(then instanceof ReachAnswer)) return wrong('Give the id of an answer of reach.')
  if (!evenIfChanged) {
    const changes = await then.since()
    if (!changes) return wrong('That question cannot be answered any more: ask it again.')
    if (changes.joined > 0 || changes.left > 0)
      return { decision: { __typename: 'LookAgain', changes } }
  }
  const lines = linesOf(then)
  if (lines.length === 0) return wrong('By that answer nothing is to be held.')
  return { lines, basedOn: answer }
}

/** Every thing of which castings are to be held, with how many. */
function linesOf(answer: ReachAnswer): ScopeLine[] {
  const { view, scope } = answer.asAnswered
  const held = scope.nodes.filter(
    ({ node, standing }) => standing !== 'clear' && node.thing > 0 && node.place !== 'SCRAPPED',
  )
  return [...groupBy(held, ({ node }) => node.thing)]
    .map(
      ([no, nodes]): ScopeLine => ({
        of: view.things.name(no),
        castings: Math.ceil(toHold(summed(no, nodes))),
      }),
    )
    .filter(({ castings }) => castings! > 0)
    .sort((a, b) => (a.of < b.of ? -1 : 1))
}

/** Bytes of lines that leave room for the rest of an event. */
const PART_BYTES = 40_000

/** Lines in parts, each small enough for one event. */
export function inParts(lines: readonly ScopeLine[]): ScopeLine[][] {
  const parts: ScopeLine[][] = [[]]
  let bytes = 0
  for (const line of lines) {
    const size = JSON.stringify(line).length + 1
    if (bytes + size > PART_BYTES) {
      parts.push([])
      bytes = 0
    }
    parts.at(-1)!.push(line)
    bytes += size
  }
  return parts
}

/** The data of each part of a decision; one part alone says nothing of parts. `from` are there already. */
export function partedData(lines: readonly ScopeLine[], rest: JsonObject, from = 0): JsonObject[] {
  const parts = inParts(lines)
  const of = from + parts.length
  return parts.map((some, i) => ({
    ...rest,
    of: some.map((line) => ({ ...line })),
    ...(of > 1 && { part: { no: from + i + 1, of } }),
  }))
}
