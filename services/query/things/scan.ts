// What a scanner gives, taken apart into names to try. Application identifiers and their lengths as
// the GS1 General Specifications list them: 00 is a pallet, 01 a product, 10 a lot, 21 a serial.
import type { ThingBy } from './thing.ts'

/** Ends a field of variable length: FNC1, which scanners send as this sign. */
export const SEPARATOR = '\x1d'

/** Lengths of the values of identifiers that begin so and have no end mark. Unit: characters. */
const FIXED: Readonly<Record<string, number>> = {
  '00': 18,
  '01': 14,
  '02': 14,
  '11': 6,
  '12': 6,
  '13': 6,
  '15': 6,
  '16': 6,
  '17': 6,
  '20': 2,
}

/** Identifiers of variable length that may stand beside those looked for. */
const VARIABLE = ['10', '21', '22', '240', '241', '30', '37', '400']

/** Names to try, the one that says most first: a piece, then its lot, then the text as a mark. */
export function namesIn(scan: string): ThingBy[] {
  const text = withoutSymbology(scan)
  if (/^(?:[a-z0-9-]{1,20}\/)?[a-z]+:[^\s:/]+$/.test(text)) return [{ id: text }]
  const fields = fieldsIn(text)
  if (!fields) return [{ mark: text }]
  const serial = fields.get('21')
  const lot = fields.get('10')
  const pallet = fields.get('00')
  return [
    ...(serial === undefined ? [] : [{ id: `pan:${serial}` }, { mark: serial }]),
    ...(lot === undefined ? [] : [{ mark: lot }, { id: `pack:${lot}` }, { id: `lot:${lot}` }]),
    ...(pallet === undefined ? [] : [{ mark: pallet }]),
  ]
}

/** Whether a text is what a scanner gives, and nothing a person would type. */
export function isScanned(text: string): boolean {
  const plain = withoutSymbology(text)
  return plain !== text.trim() || fieldsIn(plain) !== undefined
}

function withoutSymbology(text: string): string {
  return text.trim().replace(/^\](?:C1|d2|Q3|e0|J1)/, '')
}

function fieldsIn(text: string): Fields | undefined {
  return fieldsOfLink(text) ?? fieldsInBrackets(text) ?? fieldsInString(text)
}

type Fields = ReadonlyMap<string, string>

/** https://anywhere/01/09521234500018/10/K26-0412-B7/21/17 */
function fieldsOfLink(text: string): Fields | undefined {
  if (!/^https?:\/\//i.test(text) || !URL.canParse(text)) return undefined
  const parts = new URL(text).pathname.split('/').slice(1)
  const start = parts.findIndex(
    (part, i) => /^0[01]$/.test(part) && /^\d+$/.test(parts[i + 1] ?? ''),
  )
  if (start < 0) return undefined
  const fields = new Map<string, string>()
  for (let i = start; i + 1 < parts.length; i += 2) fields.set(parts[i]!, plain(parts[i + 1]!))
  return fields
}

/** (01)09521234500018(10)K26-0412-B7 */
function fieldsInBrackets(text: string): Fields | undefined {
  if (!/^\(\d{2,4}\)/.test(text)) return undefined
  const fields = text.matchAll(/\((\d{2,4})\)([^()]*)/g)
  return new Map([...fields].map(([, identifier, value]) => [identifier!, value!.trim()]))
}

/** 0109521234500018 10K26-0412-B7, fields of variable length ended by FNC1. */
function fieldsInString(text: string): Fields | undefined {
  const fields = new Map<string, string>()
  let at = 0
  while (at < text.length) {
    const fixed = FIXED[text.slice(at, at + 2)]
    if (fixed !== undefined) {
      const value = text.slice(at + 2, at + 2 + fixed)
      if (!/^\d+$/.test(value) || value.length < fixed) return undefined
      fields.set(text.slice(at, at + 2), value)
      at += 2 + fixed
      if (text[at] === SEPARATOR) at++
      continue
    }
    const identifier = VARIABLE.find((known) => text.startsWith(known, at))
    // A mark may begin with such digits by chance: without a product or pallet in front it is a mark.
    if (identifier === undefined || fields.size === 0) return undefined
    const end = text.indexOf(SEPARATOR, at)
    fields.set(identifier, text.slice(at + identifier.length, end < 0 ? undefined : end))
    at = end < 0 ? text.length : end + 1
  }
  return fields.size > 0 ? fields : undefined
}

function plain(part: string): string {
  try {
    return decodeURIComponent(part)
  } catch {
    return part
  }
}
