// Rates as a question to the tables analysts read. It adds up the same numbers in the same order as the
// answer does, so that counts and rates come out alike to the last digit.
import { momentText } from '../../events/moment.ts'
import { literal } from '../../store/analytics.ts'
import type { DefectQuestion } from '../causes/looked-at.ts'
import { LEAST_PART } from '../rates/count.ts'
import type { ComplaintsOf } from '../rates/market.ts'
import { DOSES, type Dosed, doseNames, type RateBy, type Splitting } from '../rates/split.ts'

export interface RatesSql {
  plant: string
  counts: Counts
  by: readonly RateBy[]
  asked: Splitting
  withoutMisfits: boolean
  /** As of when the tables must be for the same numbers. Unit: ms. */
  asOf: number
}

/** What is counted: castings looked at and bad ones, or castings shipped and those complained of. */
export interface Counts {
  /** Their place, castings and how many are defective. */
  looked: string
  /** Of a row k of units or of handlings: whence it comes, and that it is of `looked`. */
  units: string
  handlings: string
}

export function looksOf(
  plant: string,
  { stage, defects, product, window }: DefectQuestion,
): Counts {
  const found = defects
    ? `least(castings, coalesce((
    select sum(d.castings) from analytics.look_defect d
    where d.plant = l.plant and d.stage = l.stage and d.place = l.place
      and d.defect in (${listOf(defects)})), 0))`
    : 'defective'
  const made = (table: string) =>
    `analytics.${table} k on k.plant = ${literal(plant)} and k.stage = ${literal(stage)} and k.place = looked.place`
  return {
    looked: `  select place, castings, ${found} as defective
  from analytics.look l
  where plant = ${literal(plant)} and stage = ${literal(stage)}
    and ${within('looked_at', window)}${product == null ? '' : `\n    and product = ${literal(product)}`}`,
    units: made('look_unit'),
    handlings: made('look_handling'),
  }
}

export function shipmentsOf(plant: string, { defects, product, window }: ComplaintsOf): Counts {
  const told = defects ? `\n      and c.defect in (${listOf(defects)})` : ''
  const castings = 'sum(castings order by place) * part'
  const made = (table: string) =>
    `analytics.${table} k on k.plant = ${literal(plant)} and k.place = looked.place`
  return {
    looked: `  select min(place) as place, ${castings} as castings, least(${castings}, coalesce((
    select sum(c.castings * p.chance order by c.place, p.n)
    from analytics.complaint_pack p join analytics.complaint c using (plant, complaint)
    where p.plant = ${literal(plant)} and p.pack = s.pack and p.product = s.product
      and c.confirmed is not false${told}), 0)) as defective
  from analytics.shipped s
  where plant = ${literal(plant)}
    and ${within('shipped_at', window)}${product == null ? '' : `\n    and product = ${literal(product)}`}
  group by pack, product, part`,
    units: made('shipped_unit'),
    handlings: made('shipped_handling'),
  }
}

function within(moment: string, { from, to }: { from: number; to: number }): string {
  return `${moment} >= ${literal(momentText(from))} and ${moment} < ${literal(momentText(to))}`
}

function listOf(words: readonly string[]): string {
  return words.length > 0 ? words.map(literal).join(', ') : 'null'
}

/** Columns are the splits, castings, defective and rate. */
export function ratesSql(question: RatesSql): string {
  const { plant, by, withoutMisfits, asOf } = question
  const names = by.map((one) => one.toLowerCase())
  const poured = by.filter((one) => one !== 'MACHINE')
  const parts = [
    ...(poured.length > 0 ? [{ name: 'poured', text: pouredPart(question, poured) }] : []),
    ...(by.includes('MACHINE') ? [{ name: 'handled', text: handledPart(question) }] : []),
  ]
  const part = parts.map(({ name }) => `${name}.part`).join(' * ')
  const [castings, defective] = ['castings', 'defective'].map((count) =>
    withoutMisfits ? `(looked.${count} * stays.part)` : `looked.${count}`,
  )
  const joins = [
    ...(withoutMisfits ? ['join stays using (place)'] : []),
    ...parts.map(({ name }) => `join ${name} using (place)`),
  ]
  return `-- The same numbers as the answer where analytics.written says as_of ${momentText(asOf)} for ${plant.replaceAll(/\s/g, ' ')}.
with looked as (
${question.counts.looked}
)${withoutMisfits ? `, stays as (\n${staysPart(question)}\n)` : ''}${parts.map(({ name, text }) => `, ${name} as (\n${text}\n)`).join('')},
counted as (
  select looked.place, ${names.join(', ')}, ${castings} * (${part}) as castings, ${defective} * (${part}) as defective
  from looked ${joins.join(' ')}
  where ${part} >= ${double(LEAST_PART)}${withoutMisfits ? ` and stays.part >= ${double(LEAST_PART)}` : ''}
)
select ${names.join(', ')}, sum(castings order by place) as castings, sum(defective order by place) as defective,
  sum(defective order by place) / sum(castings order by place) as rate
from counted
group by ${names.join(', ')}
order by ${names.join(', ')}`
}

/** Part of each row that is of no heat whose sample does not fit. */
function staysPart({ counts }: RatesSql): string {
  return `  select looked.place, 1 - coalesce(sum(k.part order by k.n) filter (where h.does_not_fit), 0) as part
  from looked
  left join ${counts.units}
  left join analytics.unit u on u.plant = k.plant and u.unit = k.unit
  left join analytics.pour p on p.plant = u.plant and p.pour = u.pour
  left join analytics.heat h on h.plant = p.plant and h.heat = p.heat
  group by looked.place`
}

function pouredPart(question: RatesSql, by: readonly RateBy[]): string {
  const { counts, withoutMisfits } = question
  const names = by.map((one) => one.toLowerCase())
  const groups = by.map((one, i) => `${groupOf(question, one)} as ${names[i]}`)
  const told = `  select k.place, k.n, k.part, ${groups.join(', ')}
  from looked
  join ${counts.units}
  join analytics.unit u on u.plant = k.plant and u.unit = k.unit
  left join analytics.pour p on p.plant = u.plant and p.pour = u.pour${
    withoutMisfits
      ? `
  left join analytics.heat h on h.plant = p.plant and h.heat = p.heat
  where h.does_not_fit is not true`
      : ''
  }`
  const part = withoutMisfits
    ? 'sum(told.part order by n) / stays.part'
    : 'sum(told.part order by n)'
  return `  select told.place, ${names.join(', ')}, ${part} as part
  from (
${told}
  ) told${withoutMisfits ? ' join stays using (place)' : ''}
  where ${names.map((name) => `${name} is not null`).join(' and ')}
  group by told.place, ${names.join(', ')}${withoutMisfits ? ', stays.part' : ''}`
}

function handledPart({ counts, asked }: RatesSql): string {
  return `  select k.place, k.machine, sum(k.part order by k.n) as part
  from looked
  join ${counts.handlings}
  where k.step = ${literal(asked.step!)} and k.machine is not null
  group by k.place, k.machine`
}

/** Of a unit u and its pour p. */
function groupOf({ asked }: RatesSql, by: RateBy): string {
  switch (by) {
    case 'PRODUCT':
      return `nullif(u.product, '')`
    case 'CAVITY':
      return `case when u.cavity <> '' then u.cavity || ' of ' || u.product end`
    case 'DAY':
      return `to_char(p.poured_local, 'YYYY-MM-DD')`
    case 'SHIFT':
      return shiftSql(asked.shifts)
    case 'RECIPE':
      return `(select r.recipe || ' revision ' || r.revision from analytics.pour_recipe r
    where r.plant = u.plant and r.pour = u.pour and r.share >= ${double(asked.ownMetal)})`
    case 'FURNACE':
    case 'LINE':
    case 'PATTERN':
      return `p.${by.toLowerCase()}`
    default:
      return doseSql(by as Dosed, asked.dosed[by as Dosed]!.name)
  }
}

function shiftSql(starts: readonly string[]): string {
  const name = (i: number) => literal(`${starts[i]} to ${starts[(i + 1) % starts.length]}`)
  const cases = starts
    .map(
      (start, i) => `when to_char(p.poured_local, 'HH24:MI') >= ${literal(start)} then ${name(i)}`,
    )
    .reverse()
  return `case when p.poured_local is null then null ${cases.join(' ')} else ${name(starts.length - 1)} end`
}

function doseSql(by: Dosed, name: string): string {
  const whose =
    by === 'LOT' ? `s.lot = ${literal(name)}` : `r.${by.toLowerCase()} = ${literal(name)}`
  const lots =
    by === 'LOT' ? '' : '\n    join analytics.lot r on r.plant = s.plant and r.lot = s.lot'
  const share = `coalesce((select sum(s.share order by s.lot) from analytics.pour_lot s${lots}
    where s.plant = u.plant and s.pour = u.pour and ${whose}), 0)`
  const names = doseNames()
  const cases = DOSES.map(
    (least, i) => `when ${share} >= ${double(least)} then ${literal(names[i + 1]!)}`,
  ).reverse()
  return `case ${cases.join(' ')} else ${literal(names[0]!)} end`
}

function double(value: number): string {
  return `${value}::float8`
}
