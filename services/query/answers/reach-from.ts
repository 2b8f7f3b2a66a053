// Where a reach starts: things, marks, a machine for a while, values outside their limits, a factor.
import {
  type Followed,
  followMachine,
  followThing,
  nothingFollowed,
  type View,
} from '../../metal/followed.ts'
import { followFactor } from '../causes/follow-factor.ts'
import type { DefectQuestion } from '../causes/looked-at.ts'
import type { Context } from '../context.ts'
import { refusal } from '../refusal.ts'
import { findMarked } from '../things/marked.ts'
import { type Found, findIds, notOne } from '../things/name.ts'
import { followOutside, type MeasureOutside } from './follow-outside.ts'

/** The GraphQL input ReachFrom: exactly one of these. */
export type ReachFrom =
  | { things: string[] }
  | { machine: { machine: string; window: { from: number; to: number } } }
  | { marks: string[] }
  | { measure: MeasureOutside }
  | { factor: { about: DefectQuestion; name: string } }

/** What is followed, with the things named or found; the GraphQL object that says what is not clear. */
export type Start = { followed: Followed; things: number[] } | { notOne: object }

const MOST_NAMED = 200

export async function followFrom(
  context: Context,
  view: View,
  asOf: number,
  from: ReachFrom,
): Promise<Start> {
  const followed = nothingFollowed()
  if ('machine' in from) {
    const { machine, window } = from.machine
    const { plant } = context
    const stretch = { plant, machine, from: window.from, until: window.to }
    if (!followMachine(view, followed, stretch)) return { notOne: noMachine(machine) }
    return { followed, things: [] }
  }
  if ('measure' in from) {
    const things = followOutside(view, context.plant, followed, from.measure)
    return things.length > 0 ? { followed, things } : { notOne: noneOutside(from.measure) }
  }
  if ('factor' in from) {
    const things = followFactor(view, context.plant, followed, from.factor)
    return things ? { followed, things } : { notOne: noFactor(from.factor.name) }
  }
  const things: number[] = []
  for (const found of await named(context, from, asOf)) {
    if (Array.isArray(found)) things.push(...found)
    else if (found.found === 'one') things.push(found.no)
    else return { notOne: notOne(context, found, asOf) }
  }
  for (const no of things) followThing(view, followed, no)
  return { followed, things }
}

async function named(
  context: Context,
  from: { things: string[] } | { marks: string[] },
  asOf: number,
): Promise<(Found | number[])[]> {
  const names = 'things' in from ? from.things : from.marks
  if (names.length === 0 || names.length > MOST_NAMED)
    throw refusal('BAD_USER_INPUT', `from may name 1 to ${MOST_NAMED}, and names ${names.length}.`)
  if ('things' in from) return findIds(context, names)
  return Promise.all(names.map((mark) => findMarked(context, mark, asOf)))
}

/** What a start that names no things is called in a question. */
export function nameOfStart(from: ReachFrom): string | undefined {
  if ('machine' in from) return from.machine.machine
  if ('measure' in from) return `what had ${from.measure.of.quantity} outside its limits`
  if ('factor' in from) return `what had ${from.factor.name}`
  return undefined
}

function noMachine(machine: string): object {
  return notKnown(
    machine,
    `No report names a machine, line or furnace ${machine}, so nothing is known of what went through it. Check the name.`,
  )
}

function noneOutside({ of: { quantity } }: MeasureOutside): object {
  return notKnown(
    quantity,
    `No value of ${quantity} lay outside its limits in this window. Check the name and the window, or give lowest or highest.`,
  )
}

function noFactor(name: string): object {
  return notKnown(
    name,
    'The question about causes has no factor of this name as of now: ask causes again and take a name from its answer.',
  )
}

/** The GraphQL object NotKnown, of a name that nothing is near to. */
function notKnown(written: string, sentence: string): object {
  return { __typename: 'NotKnown', written, sentence, near: [] }
}
