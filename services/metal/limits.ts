// What a measured value is held to: of the limits set for its quantity, those that name the most of what
// it was measured on; of equals the newest that held when it was taken.
import type { FactOf, Ms } from '../events/fact.ts'
import { limitsOf } from '../events/limits.ts'
import type { View } from './followed.ts'

export type Limits = FactOf<'limits-set', number>
export type Measured = FactOf<'measured', number>

/** What limits can name of a thing. */
interface Bearing {
  products: Set<string>
  lines: Set<string>
  recipes: Set<string>
  machines: Set<string>
}

/** Undefined where no limits hold. */
export function limitsFor(view: View, measured: Measured): Limits | undefined {
  const { book, things, asOf } = view
  const { of, at, quantity, unit } = measured
  const no = things.numberOf(things.plant(of), limitsOf(quantity))
  if (no === undefined) return undefined
  const set = book
    .of(no, 'limits-set', asOf)
    .map(({ fact }) => fact)
    .filter((limits) => limits.at <= at && limits.unit === unit)
  if (set.length === 0) return undefined
  const bearing = bearingOf(view, of, at)
  return set
    .filter((limits) => fits(limits, bearing))
    .sort((a, b) => namedBy(b) - namedBy(a) || b.at - a.at)[0]
}

/** Whether a value lies outside; undefined where only a limit of the method was read and it may. */
export function isOutside(
  { amount, bound }: Pick<Measured, 'amount' | 'bound'>,
  { low, high }: Limits,
): boolean | undefined {
  const [under, over] = [low ?? Number.NEGATIVE_INFINITY, high ?? Number.POSITIVE_INFINITY]
  if (bound === undefined) return amount < under || amount > over
  if (bound === 'below') {
    if (amount <= under) return true
    return under > 0 || amount > over ? undefined : false
  }
  if (amount >= over) return true
  return over < Number.POSITIVE_INFINITY || amount < under ? undefined : false
}

const PARTS = [
  ['product', 'products'],
  ['line', 'lines'],
  ['recipe', 'recipes'],
  ['machine', 'machines'],
] as const

function fits(limits: Limits, bearing: Bearing): boolean {
  return PARTS.every(([part, parts]) => {
    const named = limits[part]
    return named === undefined || bearing[parts].has(named)
  })
}

function namedBy(limits: Limits): number {
  return PARTS.filter(([part]) => limits[part] !== undefined).length
}

/** What a thing was made on, of and as, as far as that is told. */
function bearingOf(view: View, no: number, at: Ms): Bearing {
  const bearing: Bearing = {
    products: new Set(),
    lines: new Set(),
    recipes: new Set(),
    machines: new Set(),
  }
  bear(view, bearing, no, at)
  return bearing
}

function bear(view: View, into: Bearing, no: number, at: Ms): void {
  const { book, castings, things, asOf } = view
  switch (things.kind(no)) {
    case 'charge':
      for (const { fact } of book.of(no, 'recipe-followed', asOf)) into.recipes.add(fact.recipe)
      break
    case 'heat':
      for (const { fact } of book.of(no, 'heat-begun', asOf))
        into.machines.add(bare(view, fact.via))
      for (const { fact } of book.of(no, 'heat-charged', asOf)) bear(view, into, fact.other, at)
      break
    case 'ladle':
      for (const { fact } of book.of(no, 'ladle-tapped', asOf)) bear(view, into, fact.other, at)
      break
    case 'pour':
      for (const unit of castings.unitsOf(no)) into.products.add(unit.product)
      for (const { fact } of book.of(no, 'poured', asOf)) {
        into.lines.add(bare(view, fact.via))
        if (fact.other !== undefined) bear(view, into, fact.other, at)
      }
      break
    case 'molds':
      for (const { fact } of book.of(no, 'molds-made', asOf)) into.lines.add(bare(view, fact.via))
      for (const unit of castings.unitsOfMolds(no)) into.products.add(unit.product)
      break
    case 'load':
      for (const { fact } of book.of(no, 'load-handled', asOf)) {
        if (fact.from > at || fact.at < at) continue
        if (fact.machine !== undefined) into.machines.add(fact.machine)
        if (fact.line !== undefined) into.lines.add(fact.line)
      }
      for (const held of castings.slotsOf(no, at)) into.products.add(held.product)
      break
    case 'furnace':
    case 'machine':
    case 'line':
      into.machines.add(bare(view, no))
      into.lines.add(bare(view, no))
      break
    default:
  }
}

/** An id without its kind. */
function bare({ things }: View, no: number): string {
  return things.name(no).replace(/^[a-z]+:/, '')
}
