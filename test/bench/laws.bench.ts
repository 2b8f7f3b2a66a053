// The laws, each tried as often as it says: four times as often as in every run of the tests.
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import type { Finding } from './finding.ts'

export async function tryLaws(): Promise<Finding> {
  const run = spawn('npm', ['test', '--', '--project', 'law'], {
    env: { ...process.env, WHOLE_LAWS: '1' },
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  let told = ''
  run.stdout.on('data', (part) => {
    told += part
  })
  const [code] = await once(run, 'close')
  return {
    what: 'the laws of numbers, each tried as often as it says',
    measured: told.match(/^tests: .*$/m)?.[0] ?? 'not run',
    limit: '0 failed',
    pass: code === 0,
  }
}
