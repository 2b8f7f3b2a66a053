// Records of the log as rows. Names of things go in as their numbers.
import type { Fact } from '../events/fact.ts'
import type { Problem } from '../events/problem.ts'
import { type RowOf, table } from './columns.ts'
import type { Numbers } from './dictionary.ts'
import type { Aside, KeptRecord, Said } from './kept-record.ts'

export const STATEMENT = table('statement', {
  topic: 'text',
  partition: 'integer',
  offset: 'bigint',
  plant: 'text',
  station: 'text',
  source: 'text',
  id: 'text',
  type: 'text',
  subject_no: 'integer',
  time: 'text',
  at: 'bigint',
  timespread_seconds: 'double precision',
  recorded: 'bigint',
  supersedes: 'text',
  entry: 'text',
  sequence: 'bigint',
  hash: 'text',
  entered: 'jsonb',
  carried: 'jsonb',
  flags: 'text[]',
  about: 'text',
  rank: 'smallint',
  joins_source: 'text',
  joins_id: 'text',
  voids: 'boolean',
  slot: 'text',
  span_from: 'bigint',
  span_until: 'bigint',
})

export function statementRow(
  { topic, partition, offset, outcome }: KeptRecord<Said>,
  numbers: Numbers,
): RowOf<typeof STATEMENT> {
  const { statement, claim, flags } = outcome
  const { plant, subject } = statement
  return {
    topic,
    partition,
    offset,
    plant,
    station: statement.station,
    source: statement.source,
    id: statement.id,
    type: statement.type,
    subject_no: subject === undefined ? null : numbers.of({ plant, name: subject }),
    time: statement.time,
    at: statement.at,
    timespread_seconds: statement.timespreadSeconds,
    recorded: statement.recorded,
    supersedes: statement.supersedes,
    entry: statement.entry,
    sequence: statement.sequence,
    hash: statement.hash,
    entered: statement.entered,
    carried: statement.carried,
    flags,
    about: claim.about,
    rank: claim.rank,
    joins_source: claim.joins?.source,
    joins_id: claim.joins?.id,
    voids: claim.void,
    slot: claim.slot,
    span_from: claim.from,
    span_until: claim.until,
  }
}

export const FACT = table('fact', {
  topic: 'text',
  partition: 'integer',
  offset: 'bigint',
  n: 'integer',
  what: 'text',
  of_no: 'integer',
  other_no: 'integer',
  via_no: 'integer',
  amount: 'double precision',
  at: 'bigint',
  detail: 'jsonb',
})

export function factRows(
  { topic, partition, offset, outcome }: KeptRecord<Said>,
  numbers: Numbers,
): RowOf<typeof FACT>[] {
  const { plant } = outcome.statement
  const no = (name: string | undefined) => (name === undefined ? null : numbers.of({ plant, name }))
  return outcome.facts.map((fact, n) => {
    const { what, of, other, via, amount, at, ...detail } = fact as AnyFact
    return {
      topic,
      partition,
      offset,
      n,
      what,
      of_no: no(of),
      other_no: no(other),
      via_no: no(via),
      amount,
      at,
      detail: isEmpty(detail) ? null : detail,
    }
  })
}

/** What every sort of fact has a column for. */
type AnyFact = Fact & { other?: string; via?: string; amount?: number }

export const SET_ASIDE = table('set_aside', {
  topic: 'text',
  partition: 'integer',
  offset: 'bigint',
  class: 'text',
  reason: 'text',
  problems: 'jsonb',
  bytes: 'bytea',
  key: 'text',
  plant: 'text',
  source: 'text',
  type: 'text',
  recorded: 'bigint',
})

/** Fit to be stored whatever it says: `bytes` has it as it came. */
export function asideRow(record: KeptRecord<Aside>): RowOf<typeof SET_ASIDE> {
  const { topic, partition, offset, key, bytes, taken, outcome } = record
  const { plant, source, type } = outcome
  return {
    topic,
    partition,
    offset,
    class: outcome.class,
    reason: storable(outcome.reason),
    problems: outcome.problems.map((problem) => mapTexts(problem)),
    bytes,
    key: storable(key),
    plant: plant && storable(plant),
    source: source && storable(source),
    type: type && storable(type),
    recorded: outcome.recorded ?? taken,
  }
}

function mapTexts(problem: Problem): Problem {
  const { path, problem: what, fix } = problem
  return { ...problem, path: storable(path), problem: storable(what), fix: storable(fix) }
}

/** PostgreSQL stores neither NUL nor half a surrogate pair in a text. */
function storable(text: string): string {
  return text.toWellFormed().replaceAll('\0', '\uFFFD')
}

function isEmpty(object: object): boolean {
  for (const _ in object) return false
  return true
}
