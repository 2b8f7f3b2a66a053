// The way into the simulation: what stands in for parts of Node and of the store has to be in place
// before anything of services/ is loaded.
//   node test/simulated/simulate.ts SEED    goes once more through what a seed came to
import './stand-ins.ts'

export const { simulate } = await import('./run.ts')

if (import.meta.main) console.dir(await simulate(Number(process.argv[2])), { depth: 4 })
