// npm run score -- causes --seeds 1..20 [--castings 50000]
// Hides a cause in a light foundry, one for each seed, and none in another of the same seed; asks both
// what explains the defects, and counts how often the answer is right.
import { parseArgs } from 'node:util'
import { explain } from '../../stats/causes/explain.ts'
import { type Group, groupsOf, nothingOf, STANDS_OUT } from '../../stats/causes/report.ts'
import { wilson } from '../../stats/interval.ts'
import { type Hidden, runOf } from './hidden/planted.ts'
import { seedsOf } from './seeds.ts'

/**
 * A cause is detectable in principle when the plant's own test is significant here: of the factor as recorded,
 * or told where it was at work.
 */
const SIGNIFICANT = 0.001

/** One hidden cause and what was said of it. */
interface Answered {
  hidden: Hidden
  /** Place of the cause among all factors, and of its group among groups, from 0; -1 for none. */
  place: number
  group: number
  inSet: boolean
  setSize: number
  standsOut: boolean
}

export function scoreCauses(args: string[]): void {
  const { values } = parseArgs({
    args,
    options: {
      seeds: { type: 'string', default: '1..20' },
      castings: { type: 'string', default: '50000' },
      each: { type: 'boolean', default: false },
    },
  })
  const seeds = seedsOf(values.seeds)
  const castings = Number(values.castings)
  if (!seeds || !Number.isInteger(castings) || castings < 1000) {
    console.error('Give whole numbers: --seeds 1..20, and --castings 50000, at least 1000.')
    process.exitCode = 1
    return
  }
  const answered: Answered[] = []
  const withoutCause: number[] = []
  const milliseconds: number[] = []
  for (const seed of seeds) {
    for (const planted of [true, false]) {
      const { inspected, factors, clusters, hidden } = runOf(seed, castings, planted)
      const began = process.cpuUsage()
      const found = explain(inspected, factors, clusters)
      const groups = groupsOf(found)
      const { user, system } = process.cpuUsage(began)
      milliseconds.push((user + system) / 1000)
      if (!hidden) withoutCause.push(found.logOdds)
      else answered.push(answer(hidden, groups, found.logOdds))
      if (values.each) tell(seed, groups, nothingOf(found), hidden, answered.at(-1))
    }
    if (process.stderr.isTTY)
      process.stderr.write(`\r\u001b[K${answered.length} of ${seeds.length}`)
  }
  console.log(
    JSON.stringify(
      { seeds: values.seeds, castings, ...figures(answered, withoutCause, milliseconds) },
      undefined,
      2,
    ),
  )
}

function answer(hidden: Hidden, groups: readonly Group[], logOdds: number): Answered {
  const names = groups.flatMap(({ members }) => members).sort((a, b) => b.belief - a.belief)
  const group = groups.findIndex(({ members }) =>
    members.some(({ candidate }) => candidate.named === hidden.named),
  )
  return {
    hidden,
    place: names.findIndex(({ candidate }) => candidate.named === hidden.named),
    group,
    inSet: groups[group]?.inSet ?? false,
    setSize: groups.filter(({ inSet }) => inSet).length,
    standsOut: logOdds > STANDS_OUT,
  }
}

function figures(answered: readonly Answered[], withoutCause: readonly number[], ms: number[]) {
  const told = answered.filter(({ hidden }) => hidden.chance < SIGNIFICANT)
  const wherever = answered.filter(({ hidden }) => hidden.chanceTold < SIGNIFICANT)
  const sorts = [...new Set(told.map(({ hidden }) => hidden.sort))].sort()
  const size = told.map(({ setSize }) => setSize).sort((a, b) => a - b)
  return {
    planted: answered.length,
    detectable: told.length,
    detectableTold: {
      all: wherever.length,
      firstGroup: part(wherever, ({ group }) => group === 0),
      firstThree: part(wherever, ({ group }) => group >= 0 && group < 3),
      covered: part(wherever, ({ inSet }) => inSet),
    },
    first: part(told, ({ place }) => place === 0),
    firstGroup: part(told, ({ group }) => group === 0),
    firstThree: part(told, ({ group }) => group >= 0 && group < 3),
    covered: part(told, ({ inSet }) => inSet),
    groupsInSet: { median: middle(size), mean: size.reduce((a, b) => a + b, 0) / size.length },
    falseAlarms: part(withoutCause, (odds) => odds > STANDS_OUT),
    worstOddsWithout: [...withoutCause]
      .sort((a, b) => b - a)
      .slice(0, 1 + Math.ceil(0.08 * withoutCause.length)),
    bySort: Object.fromEntries(
      sorts.map((sort) => [
        sort,
        part(
          told.filter(({ hidden }) => hidden.sort === sort),
          ({ group }) => group === 0,
        ),
      ]),
    ),
    power: Object.fromEntries(
      EFFECTS.map(([from, until]) => [
        `${from} to ${until} times`,
        part(
          answered.filter(({ hidden }) => hidden.times >= from && hidden.times < until),
          ({ standsOut, group }) => standsOut && group === 0,
        ),
      ]),
    ),
    cpuMs: { median: middle(ms.sort((a, b) => a - b)), most: ms.at(-1) },
  }
}

const EFFECTS = [
  [2, 3],
  [3, 5],
  [5, 10.1],
] as const

function middle(sorted: readonly number[]): number | undefined {
  return sorted[sorted.length >> 1]
}

/** A count of a count, the percentage, and its 95 % interval by Wilson. */
function part<T>(all: readonly T[], holds: (one: T) => boolean): string {
  const some = all.filter(holds).length
  if (all.length === 0) return '0 of 0'
  const { value, low, high } = wilson(some, all.length)
  const percent = (share: number) => (100 * share).toFixed(1)
  return `${some} of ${all.length}: ${percent(value)} % (${percent(low)} to ${percent(high)})`
}

function tell(
  seed: number,
  groups: readonly Group[],
  nothing: number,
  hidden: Hidden | undefined,
  answer: Answered | undefined,
): void {
  const first = groups
    .slice(0, 3)
    .map(({ members, belief }) => `${members[0]!.candidate.named} ${belief.toFixed(2)}`)
  const was = hidden
    ? `${hidden.sort} ${hidden.words} (${hidden.named}) ${hidden.times.toFixed(1)} times, by chance ${hidden.chance.toExponential(0)}, group ${answer!.group} ${answer!.inSet ? 'in' : 'not in'} the set of ${answer!.setSize}`
    : 'nothing'
  console.log(`${seed}: ${was}; said ${first.join(', ')}, nothing ${nothing.toFixed(2)}`)
}
