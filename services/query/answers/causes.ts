// What explains the defects? Everything recorded of the castings of one stage, weighed against
// clustering, against time and against nothing at all.
import type { Explained } from '../../stats/causes/explain.ts'
import {
  type Counted,
  counted,
  FALSE_ALARMS,
  type Group,
  groupsOf,
  nothingOf,
  STANDS_OUT,
} from '../../stats/causes/report.ts'
import type { Ranged } from '../../stats/interval.ts'
import { alikeCaution, untoldCaution } from '../causes/alike.ts'
import { type DefectQuestion, lookedAt, type Row, SURVIVORS } from '../causes/looked-at.ts'
import { nothingIn } from '../causes/nothing-to-explain.ts'
import type { Recorded } from '../causes/recorded.ts'
import { type Weighed, weigh } from '../causes/weigh.ts'
import { nameOf, trialsOf } from '../causes/words.ts'
import type { Context } from '../context.ts'
import { type Estimate, grouped, inWords, listed } from '../estimate.ts'
import { type Completeness, completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { answerId } from './answer-id.ts'

export interface CausesArgs {
  about: DefectQuestion
  asOf?: number | null
}

const MOST_GROUPS = 20

export async function causes(context: Context, { about, asOf: then }: CausesArgs): Promise<object> {
  const { from, to } = about.window
  if (!(from < to))
    throw refusal('BAD_USER_INPUT', 'about.window.from must lie before about.window.to.')
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(then ?? undefined)
  const looked = lookedAt(view, context.plant, about)
  const things = new Set(looked.rows.flatMap((row) => row.things))
  const completeness = await completenessOf(context, view, asOf, {
    on: (no) => things.has(no),
    begins: from,
    named: [],
  })
  const nothing = nothingIn(view, looked, about)
  if (nothing) return { __typename: 'NothingToExplain', ...nothing, completeness }
  const weighed = weigh(view, context.plant, looked)
  return answerOf(context, { about, asOf, completeness, rows: looked.rows, ...weighed })
}

interface Worked extends Weighed {
  rows: readonly Row[]
  about: DefectQuestion
  asOf: number
  completeness: Completeness
}

/** The GraphQL object Causes. */
function answerOf(context: Context, worked: Worked): object {
  const { about, asOf, completeness, rows, recorded, alike, found } = worked
  const groups = groupsOf(found)
  const nothing = nothingOf(found)
  const all = counted(found)
  return {
    __typename: 'Causes',
    id: answerId({ question: 'causes', args: { about }, asOf }),
    question: `What explains ${about.defects ? listed(about.defects) : 'the defects'} found ${about.stage}?`,
    sentence: sentenceOf(worked, groups, nothing, all),
    asOf,
    completeness,
    cautions: [...CAUTIONS, ...untoldCaution(rows), ...alikeCaution(alike)],
    verdict: verdictOf(found, groups),
    nothing,
    falseAlarms: FALSE_ALARMS,
    counted: rateCount(all),
    weighed: found.weighed,
    groups: ({ first }: { first: number }) => {
      if (first < 1 || first > MOST_GROUPS)
        throw refusal('BAD_USER_INPUT', `groups(first) may be 1 to ${MOST_GROUPS}.`)
      return groups.slice(0, first).map((group) => groupObject(context, recorded, group, asOf))
    },
  }
}

const CAUTIONS = [
  {
    code: 'association-is-not-cause',
    sentence:
      'Moved together is not caused: try it before the process is changed, and ask a metallurgist.',
  },
  {
    code: 'only-what-is-recorded',
    sentence:
      'What nobody recorded cannot be found, and of two causes at once only one at a time; people are never weighed.',
  },
  SURVIVORS,
]

function verdictOf({ logOdds }: Explained, groups: readonly Group[]): string {
  if (!(logOdds > STANDS_OUT)) return 'NOTHING_STANDS_OUT'
  return groups.filter(({ inSet }) => inSet).length === 1 ? 'ONE_STANDS_OUT' : 'SEVERAL_REMAIN'
}

function sentenceOf(
  { recorded, found, completeness }: Worked,
  groups: readonly Group[],
  nothing: number,
  { castings, defective }: Counted,
): string {
  const verdict = verdictOf(found, groups)
  const so = completeness.verdict === 'WHOLE' ? '' : 'So far: '
  const counts = `${grouped(defective)} of ${grouped(castings)} castings are bad`
  const name = ({ members }: Group) => nameOf(recorded, members[0]!.candidate)
  if (verdict === 'NOTHING_STANDS_OUT')
    return `${so}${counts}, and nothing recorded explains that better than chance and clustering (chance that nothing does: ${chanceWords(nothing)}).`
  const [first] = groups
  const effect = `${first!.times.value.toFixed(1)} times the odds, ${first!.times.low.toFixed(1)} to ${first!.times.high.toFixed(1)}`
  if (verdict === 'ONE_STANDS_OUT')
    return `${so}${counts}, and ${name(first!)} stands out: ${effect}. Chance that nothing recorded explains it: ${chanceWords(nothing)}.`
  const set = groups.filter(({ inSet }) => inSet)
  return `${so}${counts}, and ${set.length} explanations remain, first of them ${name(first!)} (${inWords(first!.belief)}): ${effect}. Chance that nothing recorded explains it: ${chanceWords(nothing)}.`
}

/** No model is so right that a smaller chance would mean anything. */
function chanceWords(chance: number): string {
  return chance < 0.001 ? 'less than 1 in 1,000' : inWords(chance)
}

/** The GraphQL object FactorGroup. */
function groupObject(
  context: Context,
  recorded: readonly Recorded[],
  group: Group,
  asOf: number,
): object {
  return {
    belief: group.belief,
    inSet: group.inSet,
    factors: group.members.map(({ candidate, belief }) => ({
      sort: sortOf(recorded, candidate),
      name: nameOf(recorded, candidate),
      belief,
      thing: () => {
        const no = thingOf(recorded, candidate)
        return no === undefined ? null : context.things.one(no, asOf)
      },
    })),
    with: rateCount(group.with),
    without: rateCount(group.without),
    times: withInterval(group.times, 'evidence over sizes of effect, clustering counted'),
    dose: group.dose && {
      dose: group.dose.dose,
      castings: group.dose.castings,
      rate: group.dose.rate.map(({ value }) => value),
      low: group.dose.rate.map(({ low }) => low),
      high: group.dose.rate.map(({ high }) => high),
    },
    tellApart: trialsOf(recorded, group),
  }
}

type Candidate = Group['members'][number]['candidate']

function sortOf(recorded: readonly Recorded[], { kind, parts }: Candidate): string {
  if (kind === 'pair') return 'PAIR'
  return kind === 'missing' ? 'NOT_RECORDED' : recorded[parts[0]!.factor]!.sort
}

function thingOf(recorded: readonly Recorded[], { parts }: Candidate): number | undefined {
  const [part] = parts
  if (parts.length > 1) return undefined
  const { things } = recorded[part!.factor]!
  return part!.is === 'dose'
    ? things?.[0]
    : part!.is === 'level'
      ? things?.[part!.level]
      : undefined
}

/** The GraphQL object RateCount. */
function rateCount({ castings, defective, rate }: Counted): object {
  return {
    castings,
    defective,
    rate: withInterval(rate, 'Wilson, on counts divided by what castings of one inspection share'),
  }
}

function withInterval({ value, low, high }: Ranged, method: string): Estimate {
  return { value, basis: 'COMPUTED', interval: { low, high, level: 0.95, method } }
}
