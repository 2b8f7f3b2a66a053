// How near what is filled in comes to what really happened, on foundries of which some loads did not
// say where their castings came from.
import { type Finding, report } from './finding.ts'
import { type Unscanned, unscanned } from './unscanned.ts'

const SEEDS = [11, 12, 21, 22]
const SHAKEN_OUT = 'clean.castings-shaken-out.v1'

interface Score {
  castings: number
  /** Credited to the source they are of. */
  right: number
  /** Sources that are ruled out though castings came from them: nothing is left unknown. */
  ruledOut: number
}

export function measureInference(): Finding[] {
  const findings: Finding[] = []
  for (const part of [0.02, 0.1, 0.5]) {
    const scores = new Map<string, Score>()
    for (const seed of SEEDS) scoreAll(unscanned(seed, 2, part), scores)
    const { castings, right } = scores.get(SHAKEN_OUT)!
    const credited = right / castings
    findings.push({
      what: `castings out of the molds credited to their pour, ${100 * part} % of scans missing`,
      measured: `${credited.toFixed(3)} of ${castings}`,
      limit: 'at least 0.95 wanted',
      pass: credited >= 0.95,
    })
    const ruledOut = [...scores.values()].reduce((sum, score) => sum + score.ruledOut, 0)
    findings.push({
      what: `true sources ruled out at any step, ${100 * part} % of scans missing`,
      measured: String(ruledOut),
      limit: '0 wanted',
      pass: ruledOut === 0,
    })
  }
  return findings
}

function scoreAll({ castings, record, silent }: Unscanned, scores: Map<string, Score>): void {
  for (const [thing, { step, sources }] of silent) {
    const found = new Map(
      castings
        .sourcesOf(record.no(thing))
        .map(({ of, castings: n }): [string, number] => [record.name(of), n]),
    )
    const told = new Map<string, number>()
    for (const { of, castings: n } of sources) told.set(of, (told.get(of) ?? 0) + n)
    const all = [...told.values()].reduce((sum, n) => sum + n, 0)
    const known = [...found.values()].reduce((sum, n) => sum + n, 0)
    const score = scores.get(step) ?? { castings: 0, right: 0, ruledOut: 0 }
    scores.set(step, score)
    score.castings += all
    for (const [of, n] of told) {
      score.right += Math.min(n, found.get(of) ?? 0)
      if (!found.has(of) && all - known < 0.0005) score.ruledOut++
    }
  }
}

if (import.meta.main) report(measureInference())
