// An idle kafkajs sets itself a timer of a millisecond or less some thousand times a second, by a
// negative delay that newer Nodes warn of. Nothing in its public face stops that, so the one function
// that does it is replaced here: the only private of kafkajs that is touched anywhere.
import { createRequire } from 'node:module'

const KNOWN = '2.2.4'
const LEAST_MS = 10

interface RequestQueue {
  pending: unknown[]
  throttledUntil: number
  throttleCheckTimeoutId: NodeJS.Timeout | null
  checkPendingRequests(): void
  scheduleCheckPendingRequests(): void
}

let quiet = false

/** Lets idle connections rest. Throws for a kafkajs whose inside has not been looked at. */
export function quietIdleConnections(): void {
  if (quiet) return
  const require = createRequire(import.meta.url)
  const { version } = require('kafkajs/package.json') as { version: string }
  if (version !== KNOWN)
    throw new Error(
      `kafkajs is ${version} here, and services/log/kafka/idle.ts knows ${KNOWN} alone. Install ${KNOWN}, or look whether the new one still needs the change and write its version down there.`,
    )
  const { prototype } = require('kafkajs/src/network/requestQueue') as { prototype: RequestQueue }
  prototype.scheduleCheckPendingRequests = checkWhenSomethingWaits
  quiet = true
}

/** As before, but only while something waits: every answer checks the queue by itself anyway. */
function checkWhenSomethingWaits(this: RequestQueue): void {
  if (this.throttleCheckTimeoutId || this.pending.length === 0) return
  const waitMs = Math.max(LEAST_MS, this.throttledUntil - Date.now())
  this.throttleCheckTimeoutId = setTimeout(() => {
    this.throttleCheckTimeoutId = null
    this.checkPendingRequests()
  }, waitMs)
}
