// The small language the fields of an event type are declared in. A declaration is plain data: from
// it come the TypeScript type of the normalised values (here), the checks (check.ts), the published
// schema (json-schema.ts) and the reference page (reference-page.ts).
import type { How, Kind } from './fact.ts'

/** How a field's value is shaped; what the builders below make. */
export type Shape =
  | { is: 'id'; kind: string }
  /** `kind:id` of one of the kinds, or one of the words. */
  | { is: 'ref'; kinds: readonly string[]; words: readonly string[] }
  | { is: 'text'; most: number }
  | { is: 'choice'; words: readonly string[] }
  | { is: 'whole'; least: number }
  | { is: 'number'; least: number; most: number }
  | QuantityShape
  /** A number or a bound without a unit of its own: a sibling field names it. */
  | { is: 'figure' }
  | { is: 'chemistry'; usual: Readonly<Record<string, Usual>> }
  | { is: 'unit' }
  | { is: 'moment' }
  | { is: 'flag' }
  | { is: 'list'; of: Shape; least: number }
  | { is: 'record'; fields: Fields }
  /** Fields of another event type, checked by it. */
  | { is: 'fields' }

export interface QuantityShape {
  is: 'quantity'
  /** Kept in this unit; UN/CEFACT Recommendation 20 code. */
  unit: string
  least: number
  most: number
  /** May be given as {below} or {above}. */
  bounded: boolean
  whole: boolean
}

/** Outside of it a value is accepted and flagged. */
export interface Usual {
  low: number
  high: number
  /** Where the range is from. */
  source: string
}

export function usual(low: number, high: number, source: string): Usual {
  return { low, high, source }
}

type Need = 'required' | 'optional'
declare const value: unique symbol

export interface Field<T = unknown, N extends Need = Need> {
  shape: Shape
  /** One sentence. */
  means: string
  need: N
  usual?: Usual
  /** Absent, it is the machine that the event's source ends in. */
  machine?: true
  /** Never set: carries the type of the normalised value. */
  [value]?: T
}

export type Fields = Readonly<Record<string, Field>>

/** Normalised values of declared fields. */
export type Values<F extends Fields> = Flat<
  {
    [N in keyof F as F[N] extends Field<unknown, 'required'> ? N : never]: Value<F[N]>
  } & {
    [N in keyof F as F[N] extends Field<unknown, 'required'> ? never : N]?: Value<F[N]>
  }
>
type Value<F> = F extends { [value]?: infer T } ? Exclude<T, undefined> : never
type Flat<T> = { [K in keyof T]: T[K] }

/** A weight, count or reading, in the unit its field is kept in. */
export interface Quantity {
  value: number
  /** One standard deviation; with a named scale, the error all its weighings share. */
  spread?: number
  /** With a named scale: the deviation of the single weighing. */
  repeat?: number
  how?: How
  /** The true value lies below or above `value`. */
  bound?: 'below' | 'above'
}

/** Elements by symbol. Unit: percent of mass. */
export type Chemistry = Partial<Record<string, Quantity>>

/** An optional field: something plants often do not know. */
export function optional<T>(field: Field<T, 'required'>): Field<T, 'optional'> {
  return { ...field, need: 'optional' }
}

/** A field that may be left out where the event's source ends in a machine: that machine is meant. */
export function orMachine<T, N extends Need>(field: Field<T, N>): Field<T, N> {
  return { ...field, machine: true }
}

/** The bare id of a thing; the kind says what. */
export function id(kind: string, means: string): Field<string, 'required'> {
  return required({ is: 'id', kind }, means)
}

/** A thing as `kind:id`. */
export function ref(kinds: readonly Kind[], means: string): Field<string, 'required'> {
  return required({ is: 'ref', kinds, words: [] }, means)
}

/** A thing as `kind:id`, or one of some words that stand for a place outside the record. */
export function refOr(
  words: readonly string[],
  kinds: readonly Kind[],
  means: string,
): Field<string, 'required'> {
  return required({ is: 'ref', kinds, words }, means)
}

export function text(means: string, most = 100): Field<string, 'required'> {
  return required({ is: 'text', most }, means)
}

/** One of some words. */
export function choice<const W extends readonly string[]>(
  words: W,
  means: string,
): Field<W[number], 'required'> {
  return required({ is: 'choice', words }, means)
}

/** A whole number: an ordinal or the number of a mold. */
export function whole(means: string, least = 1): Field<number, 'required'> {
  return required({ is: 'whole', least }, means)
}

/** A number without unit. */
export function number(means: string, least: number, most: number): Field<number, 'required'> {
  return required({ is: 'number', least, most }, means)
}

export function flag(means: string): Field<boolean, 'required'> {
  return required({ is: 'flag' }, means)
}

/** RFC 3339 with offset; normalised to milliseconds. */
export function moment(means: string): Field<number, 'required'> {
  return required({ is: 'moment' }, means)
}

/** Two million: what fits the ledger's 32-bit grams, and more than any foundry weighs in one go. */
const MOST = 2_000_000

export function kg(means: string, usual?: Usual): Field<Quantity, 'required'> {
  return quantity({ unit: 'KGM', least: 0, most: MOST }, means, usual)
}

/** A count of castings, whole. */
export function castings(means: string, usual?: Usual): Field<Quantity, 'required'> {
  return quantity({ unit: 'C62', least: 0, most: MOST, whole: true }, means, usual)
}

interface Range {
  unit: string
  least: number
  most: number
}

/** A reading: may also be given as {below} or {above}, since under a method's limit is not zero. */
export function reading(range: Range, means: string, usual?: Usual): Field<Quantity, 'required'> {
  return quantity({ ...range, bounded: true }, means, usual)
}

export function celsius(means: string, usual?: Usual): Field<Quantity, 'required'> {
  // Up to above the boiling point of iron, near 2,862 °C (from memory).
  return reading({ unit: 'CEL', least: -273.15, most: 3000 }, means, usual)
}

export function percent(means: string, usual?: Usual): Field<Quantity, 'required'> {
  return reading({ unit: 'P1', least: 0, most: 100 }, means, usual)
}

export function kPa(means: string, usual?: Usual): Field<Quantity, 'required'> {
  return reading({ unit: 'KPA', least: 0, most: 100_000 }, means, usual)
}

export function kWh(means: string, usual?: Usual): Field<Quantity, 'required'> {
  return reading({ unit: 'KWH', least: 0, most: 1_000_000 }, means, usual)
}

export function minutes(means: string, usual?: Usual): Field<Quantity, 'required'> {
  return reading({ unit: 'MIN', least: 0, most: 1_000_000 }, means, usual)
}

/** Elements by symbol, each a reading in percent of mass. */
export function chemistry(
  means: string,
  usual: Readonly<Record<string, Usual>> = {},
): Field<Chemistry, 'required'> {
  return required({ is: 'chemistry', usual }, means)
}

/** A reading whose unit a sibling field names. */
export function figure(means: string): Field<Quantity, 'required'> {
  return required({ is: 'figure' }, means)
}

/** A UN/CEFACT Recommendation 20 code known to units.ts. */
export function unitCode(means: string): Field<string, 'required'> {
  return required({ is: 'unit' }, means)
}

export function list<T>(
  of: Field<T, 'required'>,
  means: string,
  least = 1,
): Field<T[], 'required'> {
  return required({ is: 'list', of: of.shape, least }, means)
}

export function record<const F extends Fields>(
  fields: F,
  means = '',
): Field<Values<F>, 'required'> {
  return required({ is: 'record', fields }, means)
}

/** A list of records. */
export function lines<const F extends Fields>(
  fields: F,
  means: string,
  least = 1,
): Field<Values<F>[], 'required'> {
  return list(record(fields), means, least)
}

/** The whole data of another event type. */
export function fieldsOf(means: string): Field<object, 'required'> {
  return required({ is: 'fields' }, means)
}

function required<T>(shape: Shape, means: string, usual?: Usual): Field<T, 'required'> {
  return usual ? { shape, means, need: 'required', usual } : { shape, means, need: 'required' }
}

function quantity(
  shape: Range & Partial<QuantityShape>,
  means: string,
  usual?: Usual,
): Field<Quantity, 'required'> {
  return required({ bounded: false, whole: false, ...shape, is: 'quantity' }, means, usual)
}
