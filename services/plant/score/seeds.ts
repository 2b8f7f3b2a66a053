/** `7` or `7..12`, both ends included; undefined for anything else. */
export function seedsOf(text: string): number[] | undefined {
  const [first, last = first] = text.split('..').map(Number)
  if (first === undefined || last === undefined || !Number.isInteger(first)) return undefined
  if (!Number.isInteger(last) || last < first || last - first >= 10_000) return undefined
  return Array.from({ length: last - first + 1 }, (_, i) => first + i)
}
