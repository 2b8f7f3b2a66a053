// Simulates shifts without one guard until one of them shows it: says which, and ends with 1 when none
// does. Its arguments: the number of the guard in SIMULATED, and how many seeds.
import { SIMULATED, takeOut } from './mutations.ts'

const [number, seeds] = process.argv.slice(2).map(Number)
takeOut(SIMULATED[number!]!)
const { simulate } = await import('./simulate.ts')
for (let seed = 1; seed <= seeds!; seed++) {
  const { violations } = await simulate(seed)
  if (violations.length === 0) continue
  console.log(`seed ${seed}: ${violations[0]}`)
  process.exit(0)
}
console.log(`none of ${seeds} seeds`)
process.exit(1)
