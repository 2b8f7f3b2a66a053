// The castings of a scope as rows and pages: by place, pour, thing and customer, as several answers show
// them.
import type { View } from '../../metal/followed.ts'
import type { Odds } from '../../metal/odds.ts'
import { type Affected, type PourShare, type Scope, type Tally, tally } from '../../metal/reach.ts'
import { type Connection, type ListName, type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { bounded } from '../estimate.ts'
import {
  atLeastOne,
  boundsOf,
  groupBy,
  standingCount,
  summed,
  type Word,
  words,
} from './reach-rows.ts'

/** Castings as they stand, and what showing them takes. */
export interface Shown {
  context: Context
  view: View
  asOf: number
  /** Of the answer: its pages are none of another. */
  id: string
  nodes: Affected[]
  odds: Odds
}

type Row = ReturnType<typeof summed>

/** In the order of the work. */
const PLACES = ['IN_PROCESS', 'IN_STOCK', 'SHIPPED', 'SCRAPPED', 'UNACCOUNTED'] as const

export function placesOf({ view, nodes }: Shown): object[] {
  const groups = groupBy(nodes, (n) => n.node.place)
  return PLACES.filter((place) => groups.has(place)).map((place) => ({
    place,
    castings: standingCount(tally(groups.get(place)!)),
    packs: packsTouched(view, groups.get(place)!),
  }))
}

/** Packs that are not clear. */
export function packsTouched(view: View, nodes: readonly Affected[]): number {
  const packs = nodes.filter((n) => n.standing !== 'clear' && isPack(view, n))
  return new Set(packs.map((n) => n.node.thing)).size
}

export function isPack({ things }: View, { node }: Affected): boolean {
  return things.kind(node.thing) === 'pack'
}

/** Pours, most first; `more` is what the answer tells of each. */
export function poursPage<More extends object>(
  shown: Shown,
  pours: Scope['pours'],
  args: PageArgs & { standing?: Word[] },
  more: (share: PourShare) => More,
) {
  const wanted = words(args.standing)
  const rows = pours
    .filter((row) => wanted.has(row.standing))
    .sort((a, b) => known(b.share) - known(a.share) || a.share.pour - b.share.pour)
  return rowsPage(
    'pours',
    shown,
    rows,
    args,
    ({ share }) => [known(share), share.pour],
    ({ share }) => share.pour,
    ({ share, standing }) => ({ ...more(share), standing: standing.toUpperCase() }),
  )
}

/** Loads at their steps, most first. */
export function loadsPage(
  shown: Shown,
  args: PageArgs & { standing?: Word[] },
  handled: readonly Affected[],
) {
  // A tag may be used again, and scrap leaves on the way: the step at which it held most stands for it.
  const spells = groupBy(handled, ({ node }) => `${node.thing} ${node.step} ${node.at}`)
  const rows = [...spells.values()].map((nodes) => summed(nodes[0]!.node.thing, nodes))
  const heavier = (a: Row, b: Row) =>
    b.most > a.most || (b.most === a.most && b.castings > a.castings) ? b : a
  const loads = groupBy(rows, ({ thing }) => thing)
  return thingsPage(
    'loads',
    shown,
    args,
    [...loads.values()].map((own) => own.reduce(heavier)),
  )
}

function thingsPage(
  kind: string,
  shown: Shown,
  args: PageArgs & { standing?: Word[] },
  all: readonly Row[],
) {
  const wanted = words(args.standing)
  const rows = all
    .filter((row) => wanted.has(row.standing))
    .sort((a, b) => b.most - a.most || a.thing - b.thing)
  return rowsPage(
    kind,
    shown,
    rows,
    args,
    (row) => [row.most, row.thing],
    (row) => row.thing,
    (row) => ({
      chance: bounded(row.chance, row.low, row.high, row.basis),
      expected: bounded(row.expected, row.least, row.most, row.basis),
      atLeastOne: () => atLeastOne(shown.odds, row),
      bounds: () => boundsOf(shown.odds, row),
      standing: row.standing.toUpperCase(),
      place: row.place,
      spot: row.spot ?? null,
    }),
  )
}

export function packsPage(shown: Shown, args: PageArgs & { standing?: Word[]; place?: string }) {
  const packed = shown.nodes.filter(
    (n) => isPack(shown.view, n) && (args.place == null || n.node.place === args.place),
  )
  const rows = [...groupBy(packed, (n) => n.node.thing)].map(([pack, own]) => summed(pack, own))
  return thingsPage('packs', shown, args, rows)
}

export function customersOf(
  nodes: readonly Affected[],
): { name: string; total: Tally; packs: number }[] {
  const shipped = nodes.filter((n) => n.node.customer !== undefined && n.standing !== 'clear')
  return [...groupBy(shipped, (n) => n.node.customer!)]
    .map(([name, own]) => ({
      name,
      total: tally(own),
      packs: new Set(own.map((n) => n.node.thing)).size,
    }))
    .sort((a, b) => b.total.expected - a.total.expected || (a.name < b.name ? -1 : 1))
}

export function customersPage(shown: Shown, args: PageArgs) {
  return pageOfList(
    customersOf(shown.nodes),
    args,
    ({ name, total }) => [total.expected, name],
    ({ name, total, packs }) => ({ node: { name }, castings: standingCount(total), packs }),
    nameOf('customers', shown),
  )
}

/** A page of rows that are things: the things of the page are loaded at once. */
function rowsPage<Row, Edge extends object>(
  list: string,
  shown: Shown,
  rows: readonly Row[],
  args: PageArgs,
  key: (row: Row) => readonly (number | string)[],
  no: (row: Row) => number,
  edge: (row: Row) => Edge,
): Promise<Connection<Edge & { node: object }>> {
  const { context, asOf } = shown
  const edgeOf = async (row: Row) => ({
    ...edge(row),
    node: await context.things.one(no(row), asOf),
  })
  return pageOfList(rows, args, key, edgeOf, nameOf(list, shown))
}

function nameOf(list: string, { id, asOf }: Shown): ListName {
  return { list: `${list} of an answer`, of: id, asOf }
}

/** Upper end of a share, without what nobody reported: else rows of no known metal came first. */
function known({ high, gap }: { high: number; gap: number }): number {
  return high - gap
}
