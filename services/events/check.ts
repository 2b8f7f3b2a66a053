// Whether data is what its type declares. Compiled once for each declaration; what comes back is a
// new value in SI units, and what was entered is never touched. The door asks it closed (an unknown
// field is a problem), the consumer open (it is kept and flagged).
import {
  type Check,
  cannot,
  chemistryCheck,
  type Found,
  figureCheck,
  isObject,
  quantityCheck,
  stranger,
  wrong,
} from './check-quantity.ts'
import type { Field, Fields, Shape } from './field.ts'
import { momentOf } from './moment.ts'
import { nearestName } from './problem.ts'
import type { JsonObject, JsonValue } from './statement.ts'
import { UNITS } from './units.ts'

/** 1 to 64 characters; no white space, colon, control or invisible formatting character. */
const ID = /^[^\s:\p{Cc}\p{Cf}]{1,64}$/u
const ID_FIX = 'Give 1 to 64 characters without white space or colon'
/** Line breaks and tabs are let through: people write them. */
const CONTROL = /[\p{Cc}--[\n\r\t]]/v

/** Pairs of one record of which the second is never the lesser. */
const PAIRS = [
  ['startedAt', 'endedAt', 'ended before it started'],
  ['first', 'last', 'is before first'],
  ['low', 'high', 'is under low'],
] as const

function isId(value: JsonValue | undefined): value is string {
  return typeof value === 'string' && ID.test(value)
}

/** Makes the check of a record of fields. */
export function recordCheck(fields: Fields): Check {
  const parts = Object.entries(fields).map(([name, field]) => ({
    name,
    field,
    check: shapeCheck(field.shape, field),
  }))
  const names = new Set(Object.keys(fields))
  const pairs = PAIRS.filter(([lesser, greater]) => names.has(lesser) && names.has(greater))
  return (value, path, found) => {
    if (!isObject(value)) return wrong(found, path || 'data', 'is not an object', 'Give {…}')
    const prefix = path === '' ? '' : path + '.'
    const values: Record<string, unknown> = {}
    let seen = 0
    for (const { name, field, check } of parts) {
      if (!Object.hasOwn(value, name)) {
        const machine = field.machine && found.machine
        if (machine) values[name] = machine
        else if (field.need === 'required') missing(found, prefix + name, field)
        continue
      }
      seen++
      if (value[name] === null) {
        wrong(found, prefix + name, 'is null', 'Leave it out if it is not known')
        continue
      }
      const normal = check(value[name]!, prefix + name, found)
      if (normal !== undefined) values[name] = normal
    }
    const given = Object.keys(value)
    if (given.length > seen) {
      for (const name of given) if (!names.has(name)) stranger(found, path, name, names)
    }
    for (const [lesser, greater, problem] of pairs) {
      if (number(values[greater]) < number(values[lesser])) {
        cannot(found, prefix + greater, problem, `Check ${lesser} and ${greater}`)
      }
    }
    return values
  }
}

function shapeCheck(shape: Shape, field?: Field): Check {
  switch (shape.is) {
    case 'id':
      return (value, path, found) => (isId(value) ? value : notId(value, path, found))
    case 'ref':
      return refCheck(shape.kinds, shape.words)
    case 'text':
      return textCheck(shape.most)
    case 'choice':
      return choiceCheck(shape.words)
    case 'whole':
      return wholeCheck(shape.least)
    case 'number':
      return numberCheck(shape.least, shape.most)
    case 'quantity':
      return quantityCheck(shape, field?.usual)
    case 'figure':
      return figureCheck
    case 'chemistry':
      return chemistryCheck(shape.usual)
    case 'unit':
      return choiceCheck([...UNITS.keys()])
    case 'moment':
      return momentCheck
    case 'flag':
      return (value, path, found) =>
        typeof value === 'boolean'
          ? value
          : wrong(found, path, 'is neither true nor false', 'Give true or false')
    case 'list':
      return listCheck(shape.of, shape.least)
    case 'record':
      return recordCheck(shape.fields)
    case 'fields':
      return (value, path, found) =>
        isObject(value) ? value : wrong(found, path, 'is not an object', 'Give the whole new data')
  }
}

function refCheck(kinds: readonly string[], words: readonly string[]): Check {
  const example = `${kinds[0]}:id`
  const forms = [...kinds.map((kind) => kind + ':id'), ...words].join(', ')
  return (value, path, found) => {
    if (typeof value !== 'string') return wrong(found, path, 'is not a text', `Give ${example}`)
    if (words.includes(value)) return value
    const colon = value.indexOf(':')
    if (colon < 0)
      return wrong(found, path, 'does not say what kind of thing it is', `Give ${forms}`)
    const kind = value.slice(0, colon)
    if (!kinds.includes(kind)) {
      const near = nearestName(kind, kinds)
      return wrong(
        found,
        path,
        `cannot be of that kind`,
        near ? `Give ${near}:id` : `Give ${forms}`,
      )
    }
    if (!ID.test(value.slice(colon + 1))) return wrong(found, path, 'holds no id', ID_FIX)
    return value
  }
}

function textCheck(most: number): Check {
  return (value, path, found) => {
    if (typeof value !== 'string') return wrong(found, path, 'is not a text', 'Give a text')
    if (value.trim() === '') return wrong(found, path, 'is empty', 'Give a text, or leave it out')
    if (value.length > most) {
      return wrong(found, path, `is longer than ${most} characters`, 'Shorten it')
    }
    if (CONTROL.test(value)) {
      return wrong(found, path, 'holds a control character', 'Give printable characters')
    }
    return value
  }
}

function choiceCheck(words: readonly string[]): Check {
  const known = new Set(words)
  return (value, path, found) => {
    if (typeof value === 'string' && known.has(value)) return value
    const near = typeof value === 'string' ? nearestName(value, words) : undefined
    const fix = near ? `Did you mean ${near}?` : `Give one of ${words.join(', ')}`
    return wrong(found, path, 'is not a known word', fix)
  }
}

function wholeCheck(least: number): Check {
  return (value, path, found) => {
    if (typeof value !== 'number' || !Number.isInteger(value)) {
      return wrong(found, path, 'is not a whole number', `Give a whole number, ${least} or more`)
    }
    if (value < least || value > 2_000_000_000) {
      return cannot(found, path, `is not from ${least} to 2000000000`, 'Check the number')
    }
    return value
  }
}

function numberCheck(least: number, most: number): Check {
  return (value, path, found) => {
    if (typeof value !== 'number') return wrong(found, path, 'is not a number', 'Give a number')
    if (value >= least && value <= most) return value
    return cannot(found, path, `is not from ${least} to ${most}`, 'Check the number')
  }
}

const momentCheck: Check = (value, path, found) => {
  const moment = typeof value === 'string' ? momentOf(value) : undefined
  return moment ?? wrong(found, path, 'is not a date and time with offset', MOMENT_FIX)
}
const MOMENT_FIX = 'Give RFC 3339, such as 2026-03-02T06:40:00-06:00'

function listCheck(of: Shape, least: number): Check {
  const check = shapeCheck(of)
  return (value, path, found) => {
    if (!Array.isArray(value)) return wrong(found, path, 'is not a list', 'Give […]')
    if (value.length < least) {
      return wrong(found, path, 'is empty', `Give ${least} or more, or leave it out`)
    }
    const values: unknown[] = []
    for (let i = 0; i < value.length; i++) {
      const normal = check(value[i]!, `${path}[${i}]`, found)
      if (normal !== undefined) values.push(normal)
    }
    return values
  }
}

function notId(value: JsonValue, path: string, found: Found): undefined {
  return wrong(found, path, typeof value === 'string' ? 'is not an id' : 'is not a text', ID_FIX)
}

function missing(found: Found, path: string, field: Field): undefined {
  const fix = field.machine ? 'Give it, or send under a source that ends in it' : 'Give it'
  return wrong(found, path, 'is missing', `${fix}: ${lowerFirst(field.means)}`.replace(/\.$/, ''))
}

/** Plain number or quantity; NaN compares as neither lesser nor greater. */
function number(value: unknown): number {
  if (typeof value === 'number') return value
  return isObject(value as JsonValue) ? Number((value as JsonObject).value) : Number.NaN
}

function lowerFirst(sentence: string): string {
  return sentence.charAt(0).toLowerCase() + sentence.slice(1)
}
