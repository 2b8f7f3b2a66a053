// A scanner that types: signs that come faster than fingers and end in Enter are caught wherever the focus is,
// except in a field of text.

/** Between two signs of a scanner. Unit: ms. */
const FAST_MS = 30
/** Fewer are a slip of the fingers. */
const FEWEST_SIGNS = 4

/** Hands over what was scanned, until the signal ends it. */
export function catchScans(take: (text: string) => void, signal: AbortSignal): void {
  let signs = ''
  let lastMs = 0
  const read = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.altKey || event.metaKey || isField(event.target)) return
    const isFast = event.timeStamp - lastMs < FAST_MS
    lastMs = event.timeStamp
    if (!isFast) signs = ''
    if (event.key === 'Enter' && signs.length >= FEWEST_SIGNS) {
      event.preventDefault()
      take(signs)
      signs = ''
    } else if (event.key.length === 1) signs += event.key
  }
  document.addEventListener('keydown', read, { signal })
}

function isField(target: EventTarget | null): boolean {
  return target instanceof HTMLElement && target.matches('input, textarea, select')
}
