// How often a law is tried: a quarter as often in every run, all of it where WHOLE_LAWS is set, as in
// npm run prove. Each run tries other cases.

export function runs(whole: number): { numRuns: number } {
  return { numRuns: process.env.WHOLE_LAWS ? whole : Math.ceil(whole / 4) }
}
