// What quality decides: each publishes one report, or one in parts; nothing is changed in place.
import type { GraphQLSchema } from 'graphql'
import type { JsonObject } from '../../events/statement.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { isOpen, type Matter, type MatterKind, matterOf, stillHeld } from './matter.ts'
import { type Decision, decideOnce, decider, refused, type Saying } from './publish.ts'
import { partedData, type ScopeLine, type ScopeOf, scopeOf } from './scope.ts'

interface Deciding {
  reportId: string
  reason: string
}

export interface HoldInput extends Deciding {
  of: ScopeOf
  say?: string | null
  due?: number | null
  evenIfChanged: boolean
}

export function placeHold(
  context: Context,
  schema: GraphQLSchema,
  input: HoldInput,
): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const scoped = await scopeOf(context, schema, input.of, input.evenIfChanged)
    if ('decision' in scoped) return scoped.decision
    const hold = numberFrom('H', input.reportId)
    return sayings('quality.hold-placed.v1', `hold:${hold}`, {
      data: partedData(scoped.lines, { hold, ...said(context, input, scoped.basedOn) }),
      sentence: `Hold ${hold} is on ${thingCount(scoped.lines)}.`,
    })
  })
}

export interface ReleaseInput extends Deciding {
  hold: string
  of?: { of: string; castings?: number | null }[] | null
}

/** All that is still held, or the things named. */
export function releaseHold(
  context: Context,
  schema: GraphQLSchema,
  input: ReleaseInput,
): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const found = await matterIn(context, 'hold', input.hold)
    if ('decision' in found) return found.decision
    const { matter, view } = found
    const lines = input.of
      ? await scopeOf(context, schema, { things: input.of }, true)
      : { lines: stillHeld(matter).map((no): ScopeLine => ({ of: view.things.name(no) })) }
    if ('decision' in lines) return lines.decision
    const held = new Set(stillHeld(matter).map((no) => view.things.name(no)))
    const stranger = lines.lines.find(({ of }) => !held.has(of))
    if (stranger) return refused('input.of', `${stranger.of} is not held by ${input.hold}.`)
    const rest = { hold: matter.number, ...said(context, input) }
    // What was released before stays released: each release is a part of its own.
    const earlier = new Set(
      view.book.other(matter.no, 'released', view.asOf).map((one) => one.said),
    )
    return sayings('quality.hold-released.v1', `hold:${matter.number}`, {
      data: partedData(lines.lines, rest, earlier.size),
      sentence: `${thingCount(lines.lines)} are released from hold ${matter.number}.`,
    })
  })
}

export interface RecallInput extends Deciding {
  answer: string
  say: string
  recall?: string | null
  due?: number | null
  evenIfChanged: boolean
}

/** Freezes what an answer says to hold; named an open recall, makes that one wider by what it lacks. */
export function openRecall(
  context: Context,
  schema: GraphQLSchema,
  input: RecallInput,
): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const scoped = await scopeOf(context, schema, { answer: input.answer }, input.evenIfChanged)
    if ('decision' in scoped) return scoped.decision
    if (input.recall != null) return widened(context, input, input.recall, scoped)
    const recall = numberFrom('R', input.reportId)
    return sayings('quality.recall-opened.v1', `recall:${recall}`, {
      data: partedData(scoped.lines, { recall, ...said(context, input, scoped.basedOn) }),
      sentence: `Recall ${recall} is open on ${thingCount(scoped.lines)}, ${castingCount(scoped.lines)}.`,
    })
  })
}

async function widened(
  context: Context,
  input: RecallInput,
  id: string,
  scoped: { lines: ScopeLine[]; basedOn?: string },
): Promise<Saying[] | Decision> {
  const found = await matterIn(context, 'recall', id)
  if ('decision' in found) return found.decision
  const { matter, view } = found
  const covered = new Map([...matter.covers].map(([no, n]) => [view.things.name(no), n]))
  const lines = scoped.lines.filter(({ of, castings }) => {
    if (!covered.has(of)) return true
    const before = covered.get(of)
    return before !== undefined && (castings === undefined || castings > before)
  })
  if (lines.length === 0)
    return refused('input.answer', `Recall ${matter.number} covers all of it already.`)
  const rest = { recall: matter.number, ...said(context, input, scoped.basedOn) }
  return sayings('quality.recall-opened.v1', `recall:${matter.number}`, {
    data: partedData(lines, rest, matter.parts),
    sentence: `Recall ${matter.number} is wider by ${thingCount(lines)}.`,
  })
}

export interface CloseInput extends Deciding {
  recall: string
}

export function closeRecall(context: Context, input: CloseInput): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    const found = await matterIn(context, 'recall', input.recall)
    if ('decision' in found) return found.decision
    const recall = found.matter.number
    return sayings('quality.recall-closed.v1', `recall:${recall}`, {
      data: [{ recall, reason: input.reason, by: decider(context) }],
      sentence: `Recall ${recall} is closed.`,
    })
  })
}

export interface DispositionInput extends Deciding {
  under?: string | null
  of: { of: string; castings?: number | null }[]
  disposition: string
  spot?: string | null
}

/** What becomes of some things, under a hold, a recall or by itself. */
export function recordDisposition(
  context: Context,
  schema: GraphQLSchema,
  input: DispositionInput,
): Promise<Decision> {
  return decideOnce(context, input.reportId, 'quality', async () => {
    if (input.under != null) {
      const kind = input.under.startsWith('hold:') ? 'hold' : 'recall'
      const found = await matterIn(context, kind, input.under)
      if ('decision' in found) return found.decision
    }
    const scoped = await scopeOf(context, schema, { things: input.of }, true)
    if ('decision' in scoped) return scoped.decision
    const data: JsonObject = {
      of: scoped.lines.map((line) => ({ ...line })),
      ...(input.under != null && { under: input.under }),
      decision: input.disposition.toLowerCase().replaceAll('_', '-'),
      ...(input.spot != null && { spot: input.spot }),
      reason: input.reason,
      by: decider(context),
    }
    return sayings('quality.disposition-recorded.v1', input.under ?? scoped.lines[0]!.of, {
      data: [data],
      sentence: `What becomes of ${thingCount(scoped.lines)} is recorded.`,
    })
  })
}

/** An open matter by its id; else what is wrong. */
export async function matterIn(context: Context, kind: MatterKind, id: string) {
  const { view } = (await context.snapshot()).at()
  const no = id.startsWith(`${kind}:`) ? view.things.numberOf(context.plant, id) : undefined
  const matter: Matter | undefined = no === undefined ? undefined : matterOf(view, no)
  const wrong = (sentence: string) => ({ decision: refused(`input.${kind}`, sentence) })
  if (!matter) return wrong(`There is no ${kind} ${id}: give its id, such as ${kind}:4F21A0C7.`)
  if (!isOpen(matter)) return wrong(`${id} is closed.`)
  return { matter, view }
}

/** What every decision says of itself. */
function said(
  context: Context,
  input: { reason: string; say?: string | null; due?: number | null },
  basedOn?: string,
): JsonObject {
  return {
    reason: input.reason,
    ...(input.say != null && { say: input.say }),
    ...(input.due != null && { due: new Date(input.due).toISOString() }),
    ...(basedOn !== undefined && { basedOn }),
    by: decider(context),
  }
}

export function sayings(
  type: string,
  matter: string,
  { data, sentence }: { data: JsonObject[]; sentence: string },
): Saying[] {
  return data.map((each) => ({ type, data: each, sentence, matter }))
}

/** The same number whenever the same decision is said again. */
export function numberFrom(prefix: string, reportId: string): string {
  return `${prefix}-${reportId.slice(0, 8).toUpperCase()}`
}

function thingCount(lines: readonly ScopeLine[]): string {
  return lines.length === 1 ? lines[0]!.of : `${grouped(lines.length)} things`
}

function castingCount(lines: readonly ScopeLine[]): string {
  return `${grouped(lines.reduce((sum, { castings = 0 }) => sum + castings, 0))} castings`
}
