import type { Context } from '../context.ts'
import { completenessOf } from '../record/completeness.ts'

/** Are the reports in? The whole record, as an answer that rests on all of it would say. */
export async function reportsIn(context: Context): Promise<object> {
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at()
  const all = { on: () => true, begins: Number.NEGATIVE_INFINITY, named: [] }
  return completenessOf(context, view, asOf, all)
}
