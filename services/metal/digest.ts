/** A text as a number that is always the same: 0 to 2^32 − 1. 32-bit FNV-1a, public domain. */
export function digest(text: string): number {
  let hash = 0x811c9dc5
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193)
  return hash >>> 0
}
