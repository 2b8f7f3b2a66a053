// One foundry's sheet: what was answered about each lot, held against where its metal really went.
import { followThing, nothingFollowed, type View } from '../../metal/followed.ts'
import { type Affected, Reach } from '../../metal/reach.ts'
import { MATERIALS } from '../materials.ts'
import type { Truth } from '../truth.ts'
import { type FitSheet, fitSheetOf } from './fit.ts'
import type { Heard } from './hear.ts'
import { isKept, type Layout, layOut, type Sorted } from './layout.ts'
import { type Called, knowingMetal, neighbours, plainReach } from './rivals.ts'
import { type Cell, cellsOf, trulyIn } from './true-castings.ts'

/** Shares of a lot from which on castings count. */
export const SHARES = [1e-4, 1e-3, 1e-2, 1e-1] as const

const RULES = ['plain', 'neighbours'] as const

/** Classes of chance: none as all is clear, none as it is not known, ten between, all. */
export const CLASSES = 13

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
  /** Of those, let go by one who holds what the answer says and sorts piles by it; held; and in things no answer names. */
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
  /** The same of one who knows all metal, and not which castings of a mixed pile went where. */
  leastExcess: number
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
  fit: FitSheet
}

export function sheetOf(seed: number, truth: Truth, heard: Heard, reports: number): Sheet {
  const { view } = heard.record.at()
  const layout = layOut(view, cellsOf(truth))
  const sheet: Sheet = {
    seed,
    reports,
    refused: heard.refused,
    heats: new Set(truth.pours.map(({ heat }) => heat)).size,
    castings: truth.castings.count,
    byShare: Object.fromEntries(SHARES.map((share) => [share, noCastings()])),
    chances: Array.from({ length: CLASSES }, noChances),
    lots: [],
    fit: fitSheetOf(truth, heard),
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
      const least = knowingMetal(view, heard.plant, shares, share)
      compare(sheet, sheet.byShare[share]!, layout, nodes, truly, { least, rivals })
    }
  }
  return sheet
}

function compare(
  sheet: Sheet,
  sum: Castings,
  { piles, unseen }: Layout,
  nodes: readonly Affected[],
  truly: (cell: Cell) => number,
  { least, rivals }: { least: Float64Array; rivals: Record<'plain' | 'neighbours', Called> },
): void {
  const lost = unseen.reduce((total, cell) => total + truly(cell), 0)
  sum.truly += lost
  sum.unseen += lost
  const isHeld = (i: number) => nodes[i]!.standing !== 'clear'
  for (const { at, here, elsewhere } of piles) {
    const real = (some: readonly Sorted[]) =>
      some.reduce((total, { cell }) => total + truly(cell), 0)
    const seen = real(here)
    const all = seen + real(elsewhere)
    const letGo = (called: (row: number) => boolean) =>
      all === 0 ? 0 : real([...here, ...elsewhere].filter((some) => !isKept(some, called)))
    const own = { castings: 0, expected: 0, least: 0, held: 0, certain: 0, plain: 0, neighbours: 0 }
    for (const i of at) {
      const { node, standing, chance } = nodes[i]!
      own.castings += node.castings
      own.expected += node.castings * chance
      own.least += node.castings * least[node.slot]!
      if (isHeld(i)) own.held += node.castings
      if (standing === 'certain') own.certain += node.castings
      for (const rule of RULES) if (rivals[rule](node.slot)) own[rule] += node.castings
    }
    const clear = letGo(isHeld)
    sum.truly += all
    sum.clear += clear
    sum.found += all - clear
    sum.held += own.held
    sum.falselyCertain += Math.max(0, own.certain - all)
    sum.expected += own.expected
    sum.excess += Math.max(0, own.expected - all)
    sum.leastExcess += Math.max(0, own.least - all)
    for (const rule of RULES) {
      sum[rule].missed += letGo((i) => rivals[rule](nodes[i]!.node.slot))
      sum[rule].excess += Math.max(0, own[rule] - all)
    }
    const castings = here.reduce((total, { cell }) => total + cell.castings, 0)
    if (own.castings === 0) continue
    const chance = own.expected / own.castings
    note(sheet.chances[classOf(chance, own.held > 0)]!, chance, castings, seen)
  }
}

function note(into: Chances, chance: number, castings: number, real: number): void {
  into.castings += castings
  into.chance += castings * chance
  into.affected += real
  into.square += real * (1 - chance) ** 2 + (castings - real) * chance ** 2
}

function classOf(chance: number, held: boolean): number {
  if (chance <= 0) return held ? 1 : 0
  return chance >= 1 - 1e-9 ? CLASSES - 1 : 2 + Math.min(9, Math.floor(10 * chance))
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
    leastExcess: 0,
    plain: rival(),
    neighbours: rival(),
  }
}

function noChances(): Chances {
  return { castings: 0, chance: 0, affected: 0, square: 0 }
}
