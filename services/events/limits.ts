import type { Name } from './fact.ts'

/** The thing that limits of a quantity are facts of: a name holds no white space. */
export function limitsOf(quantity: string): Name {
  return 'limits:' + encodeURIComponent(quantity)
}
