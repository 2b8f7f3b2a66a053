// One spelling for every JSON value (RFC 8785, JSON Canonicalization Scheme), and the content hash
// made of it: two events say the same when their hashes are equal.
import { hash } from 'node:crypto'
import type { JsonObject, JsonValue } from './statement.ts'

/** Deeper than any report; keeps a hostile one from using up the stack. */
const DEEPEST = 32

/**
 * RFC 8785 text of a JSON value: names in order of UTF-16 units, numbers and strings as ECMAScript
 * writes them. Throws TypeError on what has no canonical text: a number beyond the range of doubles,
 * half a surrogate pair, nesting beyond 32 levels.
 */
export function canonical(value: JsonValue): string {
  return write(value, 0)
}

/** What the hash of an event is made of. */
export interface Content {
  type: string
  subject?: string | undefined
  time: string
  supersedes?: string | undefined
  data: JsonObject
}

/** An odd backslash before u0000 is the character itself, not text that spells it. */
const NUL = /(?<!\\)(?:\\\\)*\\u0000/

/**
 * SHA-256 of the canonical content, lower-case hex. Throws as `canonical` does, and on the character
 * U+0000, which PostgreSQL keeps in no text.
 */
export function contentHash(content: Content): string {
  const { data, subject, supersedes, time, type } = content
  // In canonical order already, so only `data` needs sorting.
  let text = `{"data":${write(data, 1)}`
  if (subject !== undefined) text += `,"subject":${quote(subject)}`
  if (supersedes !== undefined) text += `,"supersedes":${quote(supersedes)}`
  text += `,"time":${quote(time)},"type":${quote(type)}}`
  if (text.includes('u0000') && NUL.test(text)) throw new TypeError('a text holds U+0000')
  return hash('sha256', text, 'hex')
}

function write(value: JsonValue, depth: number): string {
  switch (typeof value) {
    case 'string':
      return quote(value)
    case 'number':
      if (!Number.isFinite(value)) throw new TypeError('a number is beyond the range of doubles')
      return Object.is(value, -0) ? '0' : String(value)
    case 'object':
      if (value === null) return 'null'
      if (depth >= DEEPEST) throw new TypeError(`it is nested deeper than ${DEEPEST} levels`)
      return Array.isArray(value) ? writeList(value, depth) : writeObject(value, depth)
    default:
      return String(value)
  }
}

function writeList(list: JsonValue[], depth: number): string {
  let text = '['
  for (let i = 0; i < list.length; i++) text += (i ? ',' : '') + write(list[i]!, depth + 1)
  return text + ']'
}

function writeObject(object: JsonObject, depth: number): string {
  let text = '{'
  // The order of plain sort() is that of UTF-16 units, as the RFC asks.
  for (const name of Object.keys(object).sort()) {
    text += (text === '{' ? '' : ',') + quote(name) + ':' + write(object[name]!, depth + 1)
  }
  return text + '}'
}

/** Neither quote, backslash nor control character: what most names and values are. */
const BARE = /^[ !#-[\]-~]*$/

function quote(text: string): string {
  if (BARE.test(text)) return '"' + text + '"'
  if (!text.isWellFormed()) throw new TypeError('a text holds half a surrogate pair')
  return JSON.stringify(text)
}
