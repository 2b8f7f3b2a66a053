/** Recorded time from `since` on and before `until`, which is Infinity while it lasts. Unit: ms. */
export interface Span {
  since: number
  until: number
}

/** The spans as they were just before a moment. */
export function rewind(spans: readonly Span[], since: number): readonly Span[] {
  const last = spans.at(-1)
  if (!last || last.until < since) return spans
  return spans
    .filter((span) => span.since < since)
    .map((span) => (span.until < since ? span : { ...span, until: Number.POSITIVE_INFINITY }))
}

/** The spans once it is known whether the claim is in force from a moment on. */
export function hold(spans: readonly Span[], now: number, inForce: boolean): readonly Span[] {
  if (inForce === holds(spans)) return spans
  if (inForce) return [...spans, { since: now, until: Number.POSITIVE_INFINITY }]
  return [...spans.slice(0, -1), { since: spans.at(-1)!.since, until: now }]
}

export function holds(spans: readonly Span[]): boolean {
  return spans.at(-1)?.until === Number.POSITIVE_INFINITY
}
