// Loaded into a process before anything else of it: now and then has everything collected that nothing
// holds, and writes down what is left. Only that tells a leak from garbage nobody has collected yet.
import { appendFileSync } from 'node:fs'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'

export interface LiveMemory {
  /** Unit: ms since 1970. */
  at: number
  /** Objects and buffers that are held. Unit: bytes. */
  held: number
  /** Unit: bytes. */
  resident: number
}

/** Names the file to write to. */
export const LIVE_MEMORY_FILE = 'LIVE_MEMORY_FILE'
const EVERY_MS = 3_000

const file = process.env[LIVE_MEMORY_FILE]
if (file) {
  setFlagsFromString('--expose-gc')
  const collect = runInNewContext('gc') as () => void
  setInterval(() => {
    collect()
    const { heapUsed, external, rss } = process.memoryUsage()
    const line: LiveMemory = { at: Date.now(), held: heapUsed + external, resident: rss }
    appendFileSync(file, `${JSON.stringify(line)}\n`)
  }, EVERY_MS).unref()
}
