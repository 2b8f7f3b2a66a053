// What every report about a load of castings has in common: clean and season differ only in the step
// and in what else they measure.
import { materials, touched } from './consumed.ts'
import { type Context, fact, slotOf } from './event-type.ts'
import type { Fact, Step } from './fact.ts'
import {
  castings,
  choice,
  flag,
  id,
  lines,
  moment,
  optional,
  orMachine,
  type Quantity,
  ref,
  text,
  type Values,
  whole,
} from './field.ts'
import { impossible, type Problem } from './problem.ts'
import { castingWords } from './words.ts'

const ORIGINS = ['pour', 'load', 'tote'] as const
const product = optional(text('What is cast.', 64))

export const loadFields = {
  load: id('load', 'The load.'),
  machine: orMachine(optional(id('machine', 'The machine.'))),
  line: optional(id('line', 'The molding line they come from.')),
  tote: optional(id('tote', 'What they stand in afterwards, from endedAt on.')),
  sources: optional(
    lines(
      {
        of: ref(ORIGINS, 'What went in.'),
        castings: optional(castings('Of it.')),
        product,
        cavity: optional(text('Only those of this cavity.', 64)),
        emptied: optional(flag('Nothing stayed in it.')),
      },
      'What the load was put together from; absent: the load as it left its step before.',
    ),
  ),
  product,
  castings: castings('Leaving the step.'),
  castingsIn: optional(castings('Going in.')),
  pass: optional(whole('Which time through this step, from 1; absent: the first.')),
  removed: optional(
    lines(
      {
        castings: castings('Taken out.'),
        fate: choice(['scrap', 'rework', 'sample', 'hold'], 'What becomes of them.'),
        defect: optional(text('The defect, as the plant codes it.', 64)),
        of: optional(ref(ORIGINS, 'Which of the sources they came from.')),
        product,
        into: optional(ref(['lot', 'load', 'tote'], 'Where they went.')),
      },
      'What did not leave with the load.',
    ),
  ),
  materials,
  startedAt: moment('Began.'),
  endedAt: moment('Ended.'),
}

type Load = Values<typeof loadFields>

/** Everything of a load's declaration but its type, meaning and further fields. */
export function loadStep(step: Step, done: string) {
  return {
    subject: (data: Load) => 'load:' + data.load,
    slot: (data: Load) => slotOf(data.load, step, data.pass ?? 1),
    slotMeans: 'load, step and pass; where times do not overlap, both stand',
    span: (data: Load) => ({ from: data.startedAt, until: data.endedAt }),
    impossible: tooMany,
    unusual,
    facts: (data: Load, context: Context) => loadFacts(step, data, context),
    says: (data: Load) => `${done} load ${data.load}: ${castingWords(data.castings)}`,
  }
}

/** The facts of a load's way through one step. */
export function loadFacts(step: Step, data: Load, { station }: Context): Fact[] {
  const of = 'load:' + data.load
  const at = data.endedAt
  const pass = data.pass ?? 1
  const handling = { of, at, step, pass, from: data.startedAt }
  return [
    fact('load-handled', {
      ...handling,
      amount: data.castings.value,
      castingsIn: data.castingsIn?.value,
      product: data.product,
      machine: data.machine,
      line: data.line,
      via: data.tote && 'tote:' + data.tote,
    }),
    ...(data.sources ?? []).map((source) =>
      fact('load-source', {
        ...handling,
        other: source.of,
        amount: source.castings?.value,
        product: source.product,
        cavity: source.cavity,
        emptied: source.emptied,
      }),
    ),
    ...(data.removed ?? []).map((removed) =>
      fact('load-removed', {
        ...handling,
        amount: removed.castings.value,
        fate: removed.fate,
        defect: removed.defect,
        product: removed.product,
        other: removed.of,
        via: removed.into,
      }),
    ),
    ...touched({ of, at, station, step, pass }, data.materials),
  ]
}

/** More out than in: proven only by counts that claim to be exact. */
function tooMany(data: Load): Problem[] {
  const problems: Problem[] = []
  const into = data.castingsIn
  if (!into || !exact(into)) return problems
  const sources = (data.sources ?? []).flatMap(({ castings }) => castings ?? [])
  if (sources.every(exact) && sum(sources) > into.value) {
    const problem = `add to ${sum(sources)}, more than the ${into.value} of castingsIn`
    problems.push(impossible('sources', problem, 'Check the counts of the sources and castingsIn'))
  }
  const out = [data.castings, ...(data.removed ?? []).map(({ castings }) => castings)]
  if (out.every(exact) && sum(out) > into.value) {
    const problem = `and removed add to ${sum(out)}, more than the ${into.value} of castingsIn`
    problems.push(
      impossible('castings', problem, 'Check the counts of castings, removed and castingsIn'),
    )
  }
  return problems
}

function unusual(data: Load): string[] {
  const out = [data.castings, ...(data.removed ?? []).map(({ castings }) => castings)]
  const missing = data.castingsIn ? data.castingsIn.value - sum(out) : 0
  return missing > 0
    ? [`castings: ${missing} of ${data.castingsIn!.value} went in and did not come out`]
    : []
}

function exact({ how, spread }: Quantity): boolean {
  return (how === undefined || how === 'counted') && spread === undefined
}

function sum(quantities: readonly Quantity[]): number {
  return quantities.reduce((total, { value }) => total + value, 0)
}
