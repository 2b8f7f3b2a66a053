// npm run intake -- FILE.ndjson    takes a file of events in, one on each line
// npm run intake -- -              the same for what is piped in
import { settings } from '../settings.ts'
import { runIntake } from './intake-run.ts'
import { Tally } from './tally.ts'

const [file, ...more] = process.argv.slice(2)
if (file === undefined || more.length > 0 || /^--?\w/.test(file)) {
  console.error('Give one file with one event on each line, or - for what is piped in:')
  console.error('  npm run intake -- FILE.ndjson')
  process.exitCode = 2
} else {
  const stop = new AbortController()
  // Asked again while it is stopping, it goes on stopping.
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => stop.abort())
  const say = (line: string) => console.log(line)
  const show = (text: string) => process.stderr.write(`\r\u001b[K${text}`)
  process.exitCode = await runIntake({
    file,
    settings,
    input: process.stdin,
    say,
    complain: (line) => console.error(line),
    tally: new Tally({ say, show: process.stderr.isTTY ? show : undefined }),
    signal: stop.signal,
  })
}
