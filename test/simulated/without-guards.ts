// Runs what has to notice that a guard is missing, each in a process of its own.
import { execFile } from 'node:child_process'
import { join } from 'node:path'
import { SIMULATED, TESTED } from './mutations.ts'

/** What came of it without a guard. */
export interface Without {
  guard: string
  noticed: boolean
  /** What showed it; or what did not. */
  by: string
}

const ROOT = join(import.meta.dirname, '../..')
const DEADLINE_MS = 120_000

export async function simulateWithout(number: number, seeds: number): Promise<Without> {
  const script = join(import.meta.dirname, 'simulate-without.ts')
  const { code, said } = await run([script, String(number), String(seeds)])
  // Anything but a seed that shows it would be an error of the simulation itself.
  const noticed = code === 0 && said.startsWith('seed ')
  return { guard: SIMULATED[number]!.guard, noticed, by: said.trim().split('\n')[0] ?? '' }
}

export async function testWithout(number: number): Promise<Without> {
  const { guard, test, named } = TESTED[number]!
  const preload = join(import.meta.dirname, 'test-without.ts')
  const vitest = join(ROOT, 'node_modules/vitest/vitest.mjs')
  const only = named === undefined ? [] : ['-t', named]
  const { code, said } = await run([vitest, 'run', test, ...only], {
    NODE_OPTIONS: `--import=${preload}`,
    WITHOUT_GUARD: String(number),
    REQUIRE_KAFKA: '1',
  })
  // A suite that could not be loaded proves nothing.
  const failed = /(\d+) failed/.exec(said)?.[1]
  const noticed = code === 1 && /tests: \d+ passed, [1-9]\d* failed/.test(said)
  return { guard, noticed, by: `${test}: ${failed ?? 0} failed` }
}

function run(
  args: readonly string[],
  environment: Readonly<Record<string, string>> = {},
): Promise<{ code: number; said: string }> {
  const env = { ...process.env, ...environment }
  return new Promise((done) => {
    execFile(
      process.execPath,
      args,
      { cwd: ROOT, env, timeout: DEADLINE_MS },
      (error, out, err) => {
        done({ code: error ? Number(error.code ?? 99) : 0, said: out + err })
      },
    )
  })
}
