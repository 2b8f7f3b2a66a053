// What was found, as it is told: groups of causes that cannot be told apart in these castings, most
// believed first, with their effect, the counts on both sides and what a rising dose does.
import { type Cluster, clusteredShare, type Ranged, togetherness } from '../interval.ts'
import type { Candidate } from './candidate.ts'
import type { Explained } from './explain.ts'
import type { Believed } from './foremost.ts'
import type { Looked } from './likelihood.ts'
import { dot } from './shared.ts'

/** Two are one group only when these castings do not tell one from the other by more than this. */
const TOLD_APART = Math.log(20)
/** And when so much of the one follows the other that to name one is to name both: part of its variance. */
const ALIKE = 0.8
/** Or so much, and it cannot be expected to be told: where little is known nothing is told apart. */
const TOGETHER = 0.5
/** What is less believed, and not in the set, is not worth a row. */
const LEAST_BELIEF = 0.002
/** The set of groups that is to hold the cause holds this much of the belief in any. */
const SET = 0.95
const DOSE_STEPS = 5
/**
 * Logarithm of the odds, some cause against nothing recorded, from which on a cause stands out.
 * Chosen on seeds 1 to 50 and 5000 to 5059 of the hidden causes, so that at most 1 in 20 plants without one
 * cries out.
 */
export const STANDS_OUT = 1.5
/**
 * Part of the plants without a cause that cry out all the same: 23 of the 600 seeds from 5100 to 5699, which nothing of
 * this was chosen on (`npm run score -- causes`).
 */
export const FALSE_ALARMS = 0.038

export interface Counted {
  castings: number
  defective: number
  /** Castings of one row share a fate. */
  rate: Ranged
}

export interface Group {
  /** That the cause is in it. Unit: chance. */
  belief: number
  /** Within the smallest set of groups that holds 0.95 of the belief in any cause. */
  inSet: boolean
  /** Most believed first. */
  members: Member[]
  /** Castings exposed and not, counted by chance where loads mingled, of the first member. */
  with: Counted
  without: Counted
  /** Odds with it over odds without; a ratio of rates while defects are rare. */
  times: Ranged
  /** Only where there is a dose. */
  dose: DoseSteps | undefined
}

export interface Member {
  candidate: Candidate
  belief: number
  /** Castings the first member of the group exposes and this one does not, and the other way round. */
  onlyFirst: number
  onlyThis: number
}

/** Rates at rising doses; all lists have one length. */
export interface DoseSteps {
  dose: number[]
  castings: number[]
  rate: Ranged[]
}

/** Groups of what was found; beliefs of all and of `nothing` add up to at most 1. */
export function groupsOf(found: Explained): Group[] {
  const groups: Believed[][] = []
  for (const one of found.leaders) {
    const alike = groups.find(([first]) => !toldApart(found.looked, first!, one))
    if (alike) alike.push(one)
    else groups.push([one])
  }
  const some = 1 - nothingOf(found)
  const rows = groups
    .map((members) => ({ members, belief: members.reduce((sum, { belief }) => sum + belief, 0) }))
    .sort((a, b) => b.belief - a.belief)
  let held = 0
  const told = rows.map((row) => {
    const inSet = held < SET * some
    held += row.belief
    return { ...row, inSet }
  })
  return told
    .filter(({ inSet, belief }) => inSet || belief >= LEAST_BELIEF)
    .map(({ members, belief, inSet }) => ({ belief, inSet, ...toldOf(found, members) }))
}

/**
 * Whether two candidates are told apart: by what was found, unless their castings are nearly the same; or else
 * by what could be expected were the first of them the cause. Its effect shows in what the exposure of the other
 * does not follow, luck counted.
 */
function toldApart(looked: Looked, first: Believed, other: Believed): boolean {
  if (first.log - other.log > TOLD_APART) return true
  if (correlation(looked, first.exposure.likely, other.exposure.likely) ** 2 > ALIKE) return false
  const common = dot(first.score.solved, other.score.known)
  const alike = common ** 2 / (first.score.information * other.score.information)
  if (alike < TOGETHER) return true
  return 0.5 * first.b ** 2 * first.information * (1 - alike) > TOLD_APART
}

/** Of two exposures, over the castings of which both are known. */
function correlation({ castings }: Looked, one: Float64Array, other: Float64Array): number {
  let [n, x, y, xx, xy, yy] = [0, 0, 0, 0, 0, 0]
  for (let r = 0; r < castings.length; r++) {
    const [a, b] = [one[r]!, other[r]!]
    if (Number.isNaN(a + b)) continue
    const some = castings[r]!
    n += some
    x += some * a
    y += some * b
    xx += some * a * a
    xy += some * a * b
    yy += some * b * b
  }
  const [varianceOfX, varianceOfY] = [n * xx - x * x, n * yy - y * y]
  return varianceOfX > 0 && varianceOfY > 0
    ? (n * xy - x * y) / Math.sqrt(varianceOfX * varianceOfY)
    : 0
}

/** Belief that nothing recorded explains the defects. */
export function nothingOf({ logOdds }: Explained): number {
  return 1 / (1 + Math.exp(logOdds))
}

function toldOf(found: Explained, members: readonly Believed[]) {
  const [first] = members
  const { b, information } = first!
  const reach = 1.96 / Math.sqrt(information)
  return {
    members: members.map(
      ({ candidate, belief, exposure: { likely } }): Member => ({
        candidate,
        belief,
        onlyFirst: apart(found, first!.exposure.likely, likely),
        onlyThis: apart(found, likely, first!.exposure.likely),
      }),
    ),
    with: counted(found, first!.exposure.likely),
    without: counted(found, first!.exposure.likely, (x) => 1 - x),
    times: { value: Math.exp(b), low: Math.exp(b - reach), high: Math.exp(b + reach) },
    dose: first!.candidate.kind === 'lot' ? doseSteps(found, first!.exposure.likely) : undefined,
  }
}

/** All that was looked at, or the part of each row that an exposure leaves. */
export function counted(
  { looked }: Pick<Explained, 'looked'>,
  exposure?: Float64Array,
  of: (x: number) => number = (x) => x,
): Counted {
  const clusters: Cluster[] = []
  for (let r = 0; r < looked.castings.length; r++) {
    const part = exposure ? of(exposure[r]!) : 1
    if (!(part > 0)) continue
    clusters.push({ castings: looked.castings[r]! * part, defective: looked.defective[r]! * part })
  }
  const sum = (of: (one: Cluster) => number) => clusters.reduce((total, one) => total + of(one), 0)
  return {
    castings: sum((one) => one.castings),
    defective: sum((one) => one.defective),
    rate: clusteredShare(clusters, togetherness([clusters])),
  }
}

/** Castings exposed to one and not to another, as far as that can be told. */
function apart({ looked }: Explained, one: Float64Array, other: Float64Array): number {
  let castings = 0
  for (let r = 0; r < one.length; r++) {
    const more = one[r]! - other[r]!
    if (more > 0) castings += looked.castings[r]! * more
  }
  return castings
}

/** Castings without any of it, and the rest in steps of equal size. */
function doseSteps({ looked }: Explained, dose: Float64Array): DoseSteps {
  const rows = [...dose.keys()].filter((r) => dose[r]! > 0).sort((a, b) => dose[a]! - dose[b]!)
  const none = [...dose.keys()].filter((r) => dose[r] === 0)
  const all = rows.reduce((sum, r) => sum + looked.castings[r]!, 0)
  const steps: number[][] = none.length > 0 ? [none] : []
  let [before, step] = [0, -1]
  for (const r of rows) {
    const now = Math.min(DOSE_STEPS - 1, Math.floor((DOSE_STEPS * before) / all))
    if (now !== step) steps.push([])
    step = now
    steps.at(-1)!.push(r)
    before += looked.castings[r]!
  }
  const clusters = steps.map((step) => step.map((r) => clusterOf(looked, r)))
  const together = togetherness(clusters)
  const sum = (step: number[], of: (r: number) => number) =>
    step.reduce((total, r) => total + of(r), 0)
  return {
    dose: steps.map(
      (step) =>
        sum(step, (r) => dose[r]! * looked.castings[r]!) / sum(step, (r) => looked.castings[r]!),
    ),
    castings: steps.map((step) => sum(step, (r) => looked.castings[r]!)),
    rate: clusters.map((each) => clusteredShare(each, together)),
  }
}

function clusterOf(looked: Explained['looked'], r: number): Cluster {
  return { castings: looked.castings[r]!, defective: looked.defective[r]! }
}
