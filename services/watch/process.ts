// What every process measures of itself, under the names that are usual for it.
import { monitorEventLoopDelay } from 'node:perf_hooks'
import type { Measures } from './measures.ts'

/** The share of readings in a hundred that the loop's delay is told of. */
const SHARE = 99

export function measureProcess(measures: Measures): void {
  const delay = monitorEventLoopDelay({ resolution: 20 })
  delay.enable()
  measures.gauge('process_resident_memory_bytes', 'Memory of the process.', () => [
    [{}, process.memoryUsage.rss()],
  ])
  measures.gauge('nodejs_heap_size_used_bytes', 'What of it holds objects.', () => [
    [{}, process.memoryUsage().heapUsed],
  ])
  const cpu = () => {
    const { user, system } = process.cpuUsage()
    return [[{}, (user + system) / 1e6]] as const
  }
  measures.gauge('process_cpu_seconds_total', 'Time of processors used.', cpu, 'counter')
  measures.gauge('process_start_time_seconds', 'When it started, since 1970.', () => [
    [{}, performance.timeOrigin / 1_000],
  ])
  measures.gauge(
    'nodejs_eventloop_lag_p99_seconds',
    'How late the event loop was since this was asked last, except in one of a hundred turns.',
    () => {
      const seconds = delay.percentile(SHARE) / 1e9
      delay.reset()
      return [[{}, seconds]]
    },
  )
}
