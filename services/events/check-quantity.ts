import { ELEMENTS } from './element.ts'
import { HOWS } from './fact.ts'
import type { Chemistry, Quantity, QuantityShape, Usual } from './field.ts'
import { impossible, nearestName, type Problem, shown } from './problem.ts'
import type { JsonObject, JsonValue } from './statement.ts'
import { codesOf, convert, convertSpread, UNITS, type Unit } from './units.ts'

/** What a check has come upon so far. */
export interface Found {
  problems: Problem[]
  /** Sentences on what is out of the ordinary and accepted. */
  flags: string[]
  /** At the door an unknown field is a problem; in the record it is kept and flagged. */
  closed: boolean
  /** The machine the event's source ends in. */
  machine?: string | undefined
}

/** Normalises one value; undefined when it found a problem. */
export type Check = (value: JsonValue, path: string, found: Found) => unknown

const MEMBERS = ['value', 'unit', 'how', 'spread', 'repeat']
const BOUNDS = ['below', 'above'] as const
const ANY_FINITE: Range = { least: -1e15, most: 1e15, bounded: true, whole: false }
const PERCENT: QuantityShape = {
  is: 'quantity',
  unit: 'P1',
  least: 0,
  most: 100,
  bounded: true,
  whole: false,
}

interface Range {
  least: number
  most: number
  bounded: boolean
  whole: boolean
}

/** A number, or {value, unit, how, spread, repeat}, or {below} or {above} where a bound may be given. */
export function quantityCheck(shape: QuantityShape, usual?: Usual): Check {
  const kept = UNITS.get(shape.unit)!
  const codes = codesOf(kept.measure)
  const unitText = unitWord(shape.unit)
  return (value, path, found) => {
    const quantity = read(value, path, found, shape, { kept, codes })
    if (quantity && usual) flagUnusual(quantity, usual, unitText, path, found)
    return quantity
  }
}

/** A number or a bound that a sibling field gives the unit of. */
export const figureCheck: Check = (value, path, found) => read(value, path, found, ANY_FINITE)

/** Elements by symbol: each at most 100 %, and 100 % together. */
export function chemistryCheck(usual: Readonly<Record<string, Usual>>): Check {
  const element = quantityCheck(PERCENT)
  return (value, path, found) => {
    if (!isObject(value))
      return wrong(found, path, 'is not an object', 'Give {"C": 3.4, "Si": 2.2}')
    const chemistry: Chemistry = {}
    let sum = 0
    for (const symbol of Object.keys(value)) {
      if (!ELEMENTS.has(symbol)) {
        stranger(found, path, symbol, ELEMENTS, 'a chemical element')
        continue
      }
      const part = element(value[symbol]!, `${path}.${symbol}`, found) as Quantity | undefined
      if (!part) continue
      chemistry[symbol] = part
      if (part.bound !== 'below') sum += part.value
      if (usual[symbol]) flagUnusual(part, usual[symbol], '%', `${path}.${symbol}`, found)
    }
    // Each analysis errs: half a percent over the whole still proves nothing.
    if (sum > 100.5) {
      const fix = 'Give percent of mass; use {"value": 12, "unit": "59"} for parts per million'
      cannot(found, path, `adds to ${round(sum)} %, more than 100 %`, fix)
    }
    return chemistry
  }
}

export function isObject(value: JsonValue | undefined): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}

/** More than anybody reads; keeps a hostile event from costing time. */
const MOST_NOTED = 50

/** Notes what is ill-formed. */
export function wrong(found: Found, path: string, problem: string, fix: string): undefined {
  if (found.problems.length < MOST_NOTED) found.problems.push({ path, problem, fix })
}

/** Notes what is well formed and cannot be so. */
export function cannot(found: Found, path: string, problem: string, fix: string): undefined {
  if (found.problems.length < MOST_NOTED) found.problems.push(impossible(path, problem, fix))
}

/** A name nobody declared: refused at the door with the nearest one, kept and flagged in the record. */
export function stranger(
  found: Found,
  path: string,
  name: string,
  known: Iterable<string>,
  what = 'a known field',
): void {
  const noted = found.closed ? found.problems : found.flags
  if (noted.length >= MOST_NOTED) return
  const full = (path === '' ? '' : path + '.') + shown(name)
  if (!found.closed) {
    found.flags.push(`${full} is not ${what}; it was kept and not read`)
    return
  }
  const near = nearestName(name, known)
  wrong(found, full, `is not ${what}`, near ? `Did you mean ${near}?` : 'Leave it out')
}

function read(
  value: JsonValue,
  path: string,
  found: Found,
  range: Range,
  units?: { kept: Unit; codes: string[] },
): Quantity | undefined {
  if (typeof value === 'number') return inRange({ value }, path, found, range)
  if (!isObject(value)) return wrong(found, path, 'is not a number', fixOf(range, units))
  const bound = range.bounded ? BOUNDS.find((word) => Object.hasOwn(value, word)) : undefined
  const name = bound ?? 'value'
  const entered = Object.hasOwn(value, name) ? value[name] : undefined
  if (typeof entered !== 'number') {
    return wrong(found, `${path}.${name}`, 'is not a number', fixOf(range, units))
  }
  const known = bound ? MEMBERS.map((member) => (member === 'value' ? bound : member)) : MEMBERS
  for (const member of Object.keys(value)) {
    if (!known.includes(member)) stranger(found, path, member, [...known, ...BOUNDS])
  }
  const unit = unitOf(value, path, found, units)
  if (unit === undefined) return undefined
  const quantity: Quantity = { value: unit ? convert(entered, unit, units!.kept) : entered }
  if (bound) quantity.bound = bound
  readHow(value, path, found, quantity)
  for (const spread of ['spread', 'repeat'] as const) {
    if (!Object.hasOwn(value, spread)) continue
    const given = value[spread]
    if (typeof given !== 'number' || given < 0) {
      wrong(found, `${path}.${spread}`, 'is not a standard deviation', 'Give a number, 0 or more')
    } else quantity[spread] = unit ? convertSpread(given, unit, units!.kept) : given
  }
  return inRange(quantity, path, found, range)
}

/** The unit entered; null when the value stands in the kept one, undefined when it is a problem. */
function unitOf(
  value: JsonObject,
  path: string,
  found: Found,
  units?: { kept: Unit; codes: string[] },
): Unit | null | undefined {
  if (!Object.hasOwn(value, 'unit')) return null
  const code = value.unit
  if (!units) {
    return wrong(found, `${path}.unit`, 'is given twice', 'Name the unit beside the value only')
  }
  if (typeof code === 'string' && units.codes.includes(code)) return UNITS.get(code)!
  const known = typeof code === 'string' && UNITS.has(code)
  const problem = known ? `measures something else: ${code}` : 'is not a known unit'
  return wrong(found, `${path}.unit`, problem, `Give one of ${units.codes.join(' ')}`)
}

function readHow(value: JsonObject, path: string, found: Found, quantity: Quantity): void {
  if (!Object.hasOwn(value, 'how')) return
  const how = HOWS.find((word) => word === value.how)
  if (how) quantity.how = how
  else wrong(found, `${path}.how`, 'is not a known word', `Give one of ${HOWS.join(' ')}`)
}

function inRange(
  quantity: Quantity,
  path: string,
  found: Found,
  { least, most, whole }: Range,
): Quantity | undefined {
  const { value } = quantity
  if (least === 0 && value < 0) return cannot(found, path, 'is negative', 'Give 0 or more')
  if (value < least) return cannot(found, path, `is under ${least}`, `Give ${least} or more`)
  if (!(value <= most))
    return cannot(found, path, `is over ${most}`, 'Check the number and its unit')
  if (whole && !Number.isInteger(value)) {
    return cannot(found, path, 'is not a whole number', 'Count whole castings')
  }
  return quantity
}

function flagUnusual(
  { value, bound }: Quantity,
  usual: Usual,
  unit: string,
  path: string,
  found: Found,
): void {
  if (value < usual.low ? bound !== 'above' : value > usual.high && bound !== 'below') {
    found.flags.push(
      `${path} ${round(value)} is outside the usual ${usual.low} to ${usual.high} ${unit}`,
    )
  }
}

function fixOf(range: Range, units?: { codes: string[] }): string {
  const unit = units ? `, "unit": "${units.codes[0]}"` : ''
  const bound = range.bounded ? ' or {"below": 1}' : ''
  return `Give a number, {"value": 1${unit}}${bound}`
}

function unitWord(code: string): string {
  return { CEL: '°C', KGM: 'kg', KPA: 'kPa', P1: '%', MIN: 'min', KVT: 'kV', MGM: 'mg' }[code] ?? ''
}

function round(value: number): number {
  return Number(value.toPrecision(6))
}
