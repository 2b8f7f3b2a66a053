// What became of an answer: the reports since its moment that touch it, and what stands otherwise now.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import type { Origins } from '../../metal/origins.ts'
import type { Scope } from '../../metal/reach.ts'
import { readReportsBy } from '../../store/read-reports.ts'
import { type Connection, type ListName, type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import type { Told } from '../record/record-in-hand.ts'
import { reportObject } from '../things/reports.ts'
import { groupBy, summed, toHold } from './reach-rows.ts'

/** Whether a thing belongs to an answer. */
type On = (no: number) => boolean

/** A reach at one moment of the record. */
export interface ReachThen {
  view: View
  asOf: Ms
  from: readonly number[]
  scope: Scope
}

/** Origins at one moment of the record. */
export interface OriginsThen {
  asOf: Ms
  known: Origins
  on: On
}

/** The GraphQL object ReachChanges. */
export async function reachSince(context: Context, then: ReachThen, now: ReachThen) {
  const rows = standingChanges(then.scope, now.scope)
  const sum = (of: (row: StandingChange) => number) =>
    rows.reduce((total, row) => total + Math.max(0, of(row)), 0)
  const joined = sum(({ castingsBefore, castingsNow }) => castingsNow - castingsBefore)
  const left = sum(({ castingsBefore, castingsNow }) => castingsBefore - castingsNow)
  const tell = `${grouped(joined)} castings are to be held where they were not, ${grouped(left)} no longer are where they were`
  const changes = await changesOf(context, then.asOf, now.asOf, [carriedBy(then), carriedBy(now)], {
    rows,
    size: ({ castingsBefore, castingsNow }) => Math.abs(castingsNow - castingsBefore),
    tell,
  })
  return { ...changes, joined, left }
}

/** The GraphQL object OriginChanges. */
export function originsSince(context: Context, then: OriginsThen, now: OriginsThen) {
  return changesOf(context, then.asOf, now.asOf, [then.on, now.on], {
    rows: partChanges(then.known, now.known),
    size: (row) => Math.abs(row.now - row.before),
    tell: '',
  })
}

interface Rows<Row> {
  rows: Row[]
  /** How much a row changed. */
  size(row: Row): number
  /** What the rows come to; empty when there is nothing to add. */
  tell: string
}

async function changesOf<Row extends { no: number }>(
  context: Context,
  asOf: Ms,
  until: Ms,
  on: readonly On[],
  { rows, size, tell }: Rows<Row>,
) {
  const snapshot = await context.snapshot()
  const reports = snapshot
    .changedSince(asOf)
    .filter((told) => on.some((touches) => namesAny(told, touches)))
    .sort((a, b) => b.recorded - a.recorded || (a.id < b.id ? -1 : 1))
  rows.sort((a, b) => size(b) - size(a) || a.no - b.no)
  return {
    until,
    sentence: sentenceOf(reports.length, rows.length, tell),
    reports: (args: PageArgs) => reportPage(context, reports, args, { of: asOf, asOf: until }),
    things: (args: PageArgs) =>
      pageOfList(
        rows,
        args,
        (row) => [size(row), row.no],
        async ({ no, ...row }) => ({ ...row, node: await context.things.one(no, until) }),
        { list: 'changed', of: asOf, asOf: until },
      ),
  }
}

function namesAny({ facts }: Told, on: On): boolean {
  return facts.some(({ fact }) => {
    const { of, other, via } = fact as { of: number; other?: number; via?: number }
    return on(of) || (other !== undefined && on(other)) || (via !== undefined && on(via))
  })
}

function sentenceOf(reports: number, things: number, tell: string): string {
  if (reports === 0 && things === 0) return 'Nothing that touches this answer has come in since.'
  const counted = (count: number, word: string, one: string, many: string) =>
    `${grouped(count)} ${word}${count === 1 ? '' : 's'} ${count === 1 ? one : many}`
  const said = counted(reports, 'report', 'since touches it', 'since touch it')
  if (things === 0) return `${said}, and nothing stands otherwise for them.`
  const stand = counted(things, 'thing', 'stands otherwise now', 'stand otherwise now')
  return `${said}; ${stand}${tell && `: ${tell}`}.`
}

/** Reports that came into force or went out of it; what replaced one stands at its `replacedBy`. */
function reportPage(
  context: Context,
  reports: readonly Told[],
  args: PageArgs,
  asked: Omit<ListName, 'list'>,
): Promise<Connection<{ node: object | null }>> {
  return pageOfList(
    reports,
    args,
    ({ recorded, source, id }) => [recorded, source, id],
    async (told) => {
      const found = await readReportsBy(context.store.pool, told)
      const own = found.find(({ statement }) => statement.recorded === told.recorded) ?? found[0]
      return { node: own ? reportObject(context, own) : null }
    },
    { list: 'since', ...asked },
  )
}

interface StandingChange {
  no: number
  before: string
  now: string
  castingsBefore: number
  castingsNow: number
}

/** Things that stand otherwise, or of which more or fewer castings are to be held. */
function standingChanges(then: Scope, now: Scope): StandingChange[] {
  const [before, after] = [heldOf(then), heldOf(now)]
  return [...new Set([...before.keys(), ...after.keys()])].flatMap((no) => {
    const was = before.get(no) ?? CLEAR
    const is = after.get(no) ?? CLEAR
    if (was.castings === is.castings && was.standing === is.standing) return []
    return {
      no,
      before: was.standing,
      now: is.standing,
      castingsBefore: was.castings,
      castingsNow: is.castings,
    }
  })
}

const CLEAR = { standing: 'CLEAR', castings: 0 }

function heldOf({ nodes }: Scope): Map<number, { standing: string; castings: number }> {
  const byThing = groupBy(
    nodes.filter(({ standing, node }) => standing !== 'clear' && node.thing > 0),
    ({ node }) => node.thing,
  )
  return new Map(
    [...byThing].map(([no, own]) => {
      const row = summed(no, own)
      return [no, { standing: row.standing.toUpperCase(), castings: toHold(row) }]
    }),
  )
}

interface PartChange {
  no: number
  before: number
  now: number
}

// Below this part of a casting's metal or of its chance nobody looks for a difference.
const ALIKE = 1e-6

/** Pours of which the chance, and lots of which the share is another. */
function partChanges(then: Origins, now: Origins): PartChange[] {
  const [old, fresh] = [partsOf(then), partsOf(now)]
  return [...new Set([...old.keys(), ...fresh.keys()])]
    .map((no) => ({ no, before: old.get(no) ?? 0, now: fresh.get(no) ?? 0 }))
    .filter((row) => Math.abs(row.now - row.before) > ALIKE)
}

function partsOf({ pours, lots }: Origins): Map<number, number> {
  return new Map([
    ...pours.map(({ pour, chance }): [number, number] => [pour, chance]),
    ...lots.map(({ lot, share }): [number, number] => [lot, share]),
  ])
}

/** What is followed, where any of it is, and the ladles, heats and charges on its way there. */
function carriedBy({ view, from, scope }: ReachThen): On {
  const { book, asOf } = view
  const carried = new Set(from)
  for (const { node, standing } of scope.nodes) if (standing !== 'clear') carried.add(node.thing)
  for (const { share, standing } of scope.pours) {
    if (standing === 'clear') continue
    carried.add(share.pour)
    for (const { fact: poured } of book.of(share.pour, 'poured', asOf)) {
      if (poured.other === undefined) continue
      carried.add(poured.other)
      for (const { fact: tapped } of book.of(poured.other, 'ladle-tapped', asOf)) {
        carried.add(tapped.other)
        for (const { fact } of book.of(tapped.other, 'heat-charged', asOf)) carried.add(fact.other)
      }
    }
  }
  return (no) => carried.has(no)
}
