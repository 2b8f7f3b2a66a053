/** One thing measured against its limit. */
export interface Finding {
  what: string
  measured: string
  /** Empty where it is told for information. */
  limit: string
  pass: boolean
}

/** Prints findings, one a line, and makes the process end with 1 when one failed. */
export function report(findings: readonly Finding[]): void {
  for (const { what, measured, limit, pass } of findings) {
    console.log(`${pass ? 'pass' : 'FAIL'}  ${what}: ${measured}${limit && ` (${limit})`}`)
    if (!pass) process.exitCode = 1
  }
}

/** Least time of several rounds. Unit: ms. */
export async function fastest(rounds: number, work: () => unknown): Promise<number> {
  let least = Number.POSITIVE_INFINITY
  for (let round = 0; round < rounds; round++) {
    const started = performance.now()
    await work()
    least = Math.min(least, performance.now() - started)
  }
  return least
}
