import { hash } from 'node:crypto'
import { canonical } from './canonical.ts'
import { EVENT_TYPES } from './catalog.ts'

/** Raised when code outside the declarations changes what statements come to; a golden test asks for it. */
export const EDITION = 6

/**
 * Version of what statements come to: SHA-256 over the edition, every declaration and the text of its
 * functions. Rows made under another version are made anew.
 */
export const PROJECTION_VERSION: string = hash(
  'sha256',
  canonical([
    EDITION,
    ...EVENT_TYPES.map(({ type, fields, subject, slot, span, facts }) => [
      type,
      JSON.parse(JSON.stringify(fields)),
      ...[subject, slot, span, facts].map(codeText),
    ]),
  ]),
  'hex',
)

/** Text of a function without the white space that stripping its types leaves. */
function codeText(code: unknown): string {
  return String(code).replaceAll(/\s+/g, ' ')
}
