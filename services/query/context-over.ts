import type { Context } from './context.ts'
import { reportsOver } from './things/reports.ts'
import { thingsOver } from './things/things.ts'

/** A context for one request, from what lasts. */
export function contextOver(lasting: Omit<Context, 'things' | 'reports'>): Context {
  const { plant, store } = lasting
  return { ...lasting, things: thingsOver(store, plant), reports: reportsOver(store) }
}
