// Preloaded into a run of tests: takes out the guard of TESTED whose number is in WITHOUT_GUARD.
import { TESTED, takeOut } from './mutations.ts'

const number = process.env.WITHOUT_GUARD
if (number !== undefined) takeOut(TESTED[Number(number)]!)
