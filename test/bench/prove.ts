// npm run prove    measures every figure that is promised, and writes them down with their date
//   npm run prove -- --without-kills    leaves out what takes ten minutes each: killing processes on real
//                                       brokers, and watching the memory of a steady stream
import { mkdir, writeFile } from 'node:fs/promises'
import { cpus, totalmem } from 'node:os'
import { join } from 'node:path'
import { tellAdvisories } from './advisories.bench.ts'
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

const findings: Finding[] = []
const take = (more: readonly Finding[]) => {
  report(more)
  findings.push(...more)
}
take([await tryLaws()])
for (const heats of SIZES) take(measureLedger(heats))
for (const heats of SIZES) take(await measureReach(heats))
take(await tellAdvisories())
take(await measureDesk())
take(await measurePages())
take(measureScore())
take(measureFit())
take(measureInference())
take(await measureIntake())
take(await measureWrite())
take(await measureRoad())
take(await measureFingerprint())
take(await measureMatters())
take(await measureInquiries())
take(await measureSimulatedFaults())
take(await measureOutages())
const short = process.argv.includes('--without-kills')
take(await measureSteady(short ? 1 : 10))
if (!short) take(await measureKafka())

const folder = join(import.meta.dirname, 'proved')
await mkdir(folder, { recursive: true })
const day = new Date().toISOString().slice(0, 10)
const machine = {
  cores: cpus().length,
  memoryGiB: Math.round(totalmem() / 2 ** 30),
  node: process.version,
}
await writeFile(
  join(folder, `${day}.json`),
  `${JSON.stringify({ day, machine, findings }, undefined, 2)}\n`,
)
console.log(`Written to test/bench/proved/${day}.json.`)
