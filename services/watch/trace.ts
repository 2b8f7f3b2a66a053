// W3C Trace Context: which of a caller's doings a request belongs to, so that its lines in several
// logs can be laid side by side. Level 1, https://www.w3.org/TR/trace-context/

export interface Trace {
  /** 32 hexadecimal digits. */
  traceId: string
  /** 16 hexadecimal digits: the step at the caller's. */
  parentId: string
}

const FORM = /^([0-9a-f]{2})-([0-9a-f]{32})-([0-9a-f]{16})-[0-9a-f]{2}(-.*)?$/

/** What a `traceparent` says; undefined when there is none that can be read. */
export function traceOf(traceparent: unknown): Trace | undefined {
  if (typeof traceparent !== 'string') return undefined
  const [, version, traceId, parentId, more] = FORM.exec(traceparent) ?? []
  if (!traceId || !parentId || version === 'ff') return undefined
  if (/^0+$/.test(traceId) || /^0+$/.test(parentId)) return undefined
  // Later versions may add something behind; this one has nothing there.
  if (version === '00' && more !== undefined) return undefined
  return { traceId, parentId }
}

const IN_EVENT = /"traceparent"\s*:\s*"([0-9a-f-]{1,200})"/

/** The trace an event belongs to, from its bytes, even where they cannot be read as a whole. */
export function traceIn(event: Uint8Array): Trace | undefined {
  return traceOf(IN_EVENT.exec(Buffer.from(event).toString('latin1'))?.[1])
}
