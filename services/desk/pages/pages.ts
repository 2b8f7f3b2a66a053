// Every page by the first part of its address; each is loaded when it is first opened.
import type { OpenPage } from '../frame/page.ts'

export const PAGES: Record<string, () => Promise<OpenPage>> = {
  '': async () => (await import('./in-hand.ts')).openInHand,
  answer: async () => (await import('./answer.ts')).answerPage(),
  calls: async () => (await import('./calls.ts')).openCalls,
  causes: async () => (await import('./causes.ts')).openCauses,
  drill: async () => (await import('./drill.ts')).openDrill,
  floor: async () => (await import('./floor.ts')).openFloor,
  inquiry: async () => (await import('./inquiry.ts')).openInquiry,
  origins: async () => (await import('./origins.ts')).openOrigins,
  rates: async () => (await import('./rates.ts')).openRates,
  reach: async () => (await import('./reach.ts')).openReach,
  recall: async () => (await import('./recall.ts')).openRecall,
  report: async () => (await import('./report.ts')).openReport,
  'set-aside': async () => (await import('./set-aside.ts')).openSetAside,
  waiting: async () => (await import('./waiting.ts')).openWaiting,
}
