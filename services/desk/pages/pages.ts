// Every page by the first part of its address; each is loaded when it is first opened.
import type { OpenPage } from '../frame/page.ts'

export const PAGES: Record<string, () => Promise<OpenPage>> = {
  '': async () => (await import('./in-hand.ts')).openInHand,
  causes: async () => (await import('./causes.ts')).openCauses,
  inquiry: async () => (await import('./inquiry.ts')).openInquiry,
  waiting: async () => (await import('./waiting.ts')).openWaiting,
  rates: async () => (await import('./rates.ts')).openRates,
  report: async () => (await import('./report.ts')).openReport,
  'set-aside': async () => (await import('./set-aside.ts')).openSetAside,
  calls: async () => (await import('./calls.ts')).openCalls,
  drill: async () => (await import('./drill.ts')).openDrill,
  recall: async () => (await import('./recall.ts')).openRecall,
}
