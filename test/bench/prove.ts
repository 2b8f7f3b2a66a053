// npm run prove    measures every figure that is promised, and writes them down with their date
//   npm run prove -- --without-kills    leaves out what takes ten minutes each: killing processes on real
//                                       brokers, and watching the memory of a steady stream
import { mkdir, writeFile } from 'node:fs/promises'
import { cpus, totalmem } from 'node:os'
import { join } from 'node:path'
import { tellAdvisories } from './advisories.bench.ts'
import { measureCauses } from './causes.bench.ts'
import { measureDesk } from './desk.bench.ts'
import { type Finding, report } from './finding.ts'
import { measureFingerprint } from './fingerprint.bench.ts'
import { measureFit } from './fit.bench.ts'
import { measureInference } from './inference.bench.ts'
import { measureInquiries } from './inquiries.bench.ts'
import { measureIntake } from './intake.bench.ts'
import { measureKafka } from './kafka.bench.ts'
import { tryLaws } from './laws.bench.ts'
import { measureLedger } from './ledger.bench.ts'
import { measureMatters } from './matters.bench.ts'
import { measureOutages } from './outages.bench.ts'
import { measurePages } from './pages.bench.ts'
import { measureReach } from './reach.bench.ts'
import { measureRoad } from './road.bench.ts'
import { measureScore } from './score.bench.ts'
import { measureSimulatedFaults } from './simulated-faults.bench.ts'
import { measureSteady } from './steady.bench.ts'
import { measureWrite } from './write.bench.ts'

const SIZES = [25_000, 250_000]

const folder = join(import.meta.dirname, 'proved')
const day = new Date().toISOString().slice(0, 10)
const machine = {
  cores: cpus().length,
  memoryGiB: Math.round(totalmem() / 2 ** 30),
  node: process.version,
}
const findings: Finding[] = []
await mkdir(folder, { recursive: true })

/** Says what was found, and writes it down at once: what comes later may fail. */
async function take(more: readonly Finding[]): Promise<void> {
  report(more)
  findings.push(...more)
  const text = JSON.stringify({ day, machine, findings }, undefined, 2)
  await writeFile(join(folder, `${day}.json`), `${text}\n`)
}

await take([await tryLaws()])
for (const heats of SIZES) await take(measureLedger(heats))
for (const heats of SIZES) await take(await measureReach(heats))
await take(await tellAdvisories())
await take(await measureDesk())
await take(await measurePages())
await take(measureScore())
await take(measureFit())
await take(measureInference())
await take(measureCauses())
await take(await measureIntake())
await take(await measureWrite())
await take(await measureRoad())
await take(await measureFingerprint())
await take(await measureMatters())
await take(await measureInquiries())
await take(await measureSimulatedFaults())
await take(await measureOutages())
const short = process.argv.includes('--without-kills')
await take(await measureSteady(short ? 1 : 10))
if (!short) await take(await measureKafka())

console.log(`Written to test/bench/proved/${day}.json.`)
