// One foundry's sheet: what was answered about each lot, held against where its metal really went.
import { followThing, nothingFollowed, type View } from '../../metal/followed.ts'
import { type Affected, Reach } from '../../metal/reach.ts'
import { MATERIALS } from '../materials.ts'
import type { Truth } from '../truth.ts'
import type { Heard } from './hear.ts'
import { type Called, neighbours, plainReach } from './rivals.ts'
import { type Cell, cellKey, cellsOf, trulyIn } from './true-castings.ts'

/** Shares of a lot from which on castings count. */
export const SHARES = [1e-4, 1e-3, 1e-2, 1e-1] as const

/** Classes of chance: none, ten between, all. */
export const CLASSES = 12

/** How names of lots begin of which a share may be asked. */
const METALLIC = new Set(
  Object.values(MATERIALS)
    .filter(({ role }) => role === 'metallic')
    .map(({ prefix }) => `lot:${prefix}`),
)

/** Castings over all lots of a foundry, at one share. */
export interface Castings {
  /** Really over the share. */
  truly: number
  /** Of those, called clear; held; and in things no answer names. */
  clear: number
  found: number
  unseen: number
  /** To be held, whether truly or not. */
  held: number
  /** Called certain, and not really over the share. */
  falselyCertain: number
  /** Sum of chances, and of what in each thing goes beyond those really over the share. */
  expected: number
  excess: number
  /** By each rule beside: castings beyond those truly over the share, and truly ones it misses. */
  plain: Rival
  neighbours: Rival
}

export interface Rival {
  excess: number
  missed: number
}

/** Castings answered with a chance of one class: how many, sum of chances, really affected, squares. */
export interface Chances {
  castings: number
  chance: number
  affected: number
  square: number
}

/** Pours that a lot is really in by more than a ten-thousandth, and how their intervals fit. */
export interface LotShares {
  lot: string
  pours: number
  inside: number
  below: number
  above: number
  /** Sum over pours of |ln(best / true)| of those over a thousandth, and their number. */
  logError: number
  logged: number
}

export interface Sheet {
  seed: number
  reports: number
  refused: number
  heats: number
  castings: number
  byShare: Record<string, Castings>
  chances: Chances[]
  lots: LotShares[]
}

export function sheetOf(seed: number, truth: Truth, heard: Heard, reports: number): Sheet {
  const { view } = heard.record.at()
  const cells = cellsOf(truth)
  const sheet: Sheet = {
    seed,
    reports,
    refused: heard.refused,
    heats: new Set(truth.pours.map(({ heat }) => heat)).size,
    castings: truth.castings.count,
    byShare: Object.fromEntries(SHARES.map((share) => [share, noCastings()])),
    chances: Array.from({ length: CLASSES }, noChances),
    lots: [],
  }
  for (const { lot } of truth.metal.lots()) {
    const no = view.things.numberOf(heard.plant, lot)
    if (no === undefined || !METALLIC.has(lot.slice(0, 'lot:XX'.length))) continue
    const shares = truth.metal.sharesOf(lot)
    if (![...shares].some(([thing, share]) => thing.startsWith('pour:') && share >= SHARES[0]))
      continue
    const followed = nothingFollowed()
    followThing(view, followed, no)
    const reach = new Reach(view, followed)
    sheet.lots.push(lotShares(lot, view, reach, shares))
    const rivals = {
      plain: plainReach(view, heard.plant, shares),
      neighbours: neighbours(view, no),
    }
    for (const share of SHARES) {
      const { nodes } = reach.scope({ share })
      const truly = (cell: Cell) => trulyIn(cell, shares, share)
      compare(sheet, sheet.byShare[share]!, view, nodes, cells, truly, rivals)
    }
  }
  return sheet
}

function compare(
  sheet: Sheet,
  sum: Castings,
  view: View,
  nodes: readonly Affected[],
  cells: readonly Cell[],
  truly: (cell: Cell) => number,
  rivals: Record<'plain' | 'neighbours', Called>,
): void {
  const answered = layOut(view, nodes)
  const beyond = new Map<Affected[], { real: number }>()
  for (const cell of cells) {
    const own = cell.things.map((thing) => find(answered, thing, cell)).find((found) => found)
    const real = truly(cell)
    sum.truly += real
    if (!own) {
      sum.unseen += real
      continue
    }
    const held = own.some(({ standing }) => standing !== 'clear')
    if (held) sum.found += real
    else sum.clear += real
    for (const name of ['plain', 'neighbours'] as const)
      if (!own.some(({ node }) => rivals[name](node.slot))) sum[name].missed += real
    const told = beyond.get(own) ?? { real: 0 }
    told.real += real
    beyond.set(own, told)
    if (own === find(answered, cell.things[0]!, cell)) note(sheet.chances, own, cell.castings, real)
  }
  for (const own of answered.values()) {
    const real = beyond.get(own)?.real ?? 0
    const count = (which: (one: Affected) => boolean) =>
      own.reduce((castings, one) => castings + (which(one) ? one.node.castings : 0), 0)
    const expected = own.reduce((total, { node, chance }) => total + node.castings * chance, 0)
    sum.held += count(({ standing }) => standing !== 'clear')
    sum.falselyCertain += Math.max(0, count(({ standing }) => standing === 'certain') - real)
    sum.expected += expected
    sum.excess += Math.max(0, expected - real)
    for (const name of ['plain', 'neighbours'] as const)
      sum[name].excess += Math.max(0, count(({ node }) => rivals[name](node.slot)) - real)
  }
}

/** By thing and product. */
function layOut(view: View, nodes: readonly Affected[]): Map<string, Affected[]> {
  return Map.groupBy(nodes, ({ node }) => cellKey(view.things.name(node.thing), node.product))
}

/** What is answered for a thing; where products were lost on the way, for all of it. */
function find(answered: Map<string, Affected[]>, thing: string, { product }: Cell) {
  return answered.get(cellKey(thing, product)) ?? answered.get(cellKey(thing, ''))
}

function note(chances: Chances[], own: readonly Affected[], castings: number, real: number): void {
  const all = own.reduce((sum, { node }) => sum + node.castings, 0)
  if (all <= 0) return
  const chance = own.reduce((sum, one) => sum + one.node.castings * one.chance, 0) / all
  const into = chances[classOf(chance)]!
  into.castings += castings
  into.chance += castings * chance
  into.affected += real
  into.square += real * (1 - chance) ** 2 + (castings - real) * chance ** 2
}

function classOf(chance: number): number {
  if (chance <= 0) return 0
  return chance >= 1 - 1e-9 ? CLASSES - 1 : 1 + Math.min(9, Math.floor(10 * chance))
}

function lotShares(
  lot: string,
  view: View,
  reach: Reach,
  shares: ReadonlyMap<string, number>,
): LotShares {
  const sum: LotShares = { lot, pours: 0, inside: 0, below: 0, above: 0, logError: 0, logged: 0 }
  const answered = new Map(reach.pours.map((pour) => [view.things.name(pour.pour), pour]))
  for (const [thing, share] of shares) {
    if (!thing.startsWith('pour:') || share < SHARES[0]) continue
    const { low = 0, high = 0, best = 0 } = answered.get(thing) ?? {}
    sum.pours++
    if (share < low * (1 - 1e-9)) sum.below++
    else if (share > high * (1 + 1e-9)) sum.above++
    else sum.inside++
    if (share < 1e-3 || best <= 0) continue
    sum.logError += Math.abs(Math.log(best / share))
    sum.logged++
  }
  return sum
}

function noCastings(): Castings {
  const rival = () => ({ excess: 0, missed: 0 })
  return {
    truly: 0,
    clear: 0,
    found: 0,
    unseen: 0,
    held: 0,
    falselyCertain: 0,
    expected: 0,
    excess: 0,
    plain: rival(),
    neighbours: rival(),
  }
}

function noChances(): Chances {
  return { castings: 0, chance: 0, affected: 0, square: 0 }
}
