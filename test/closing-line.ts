import type { Reporter, SerializedError, TestModule, TestRunEndReason } from 'vitest/node'

/** Ends every run with one line that counts what ran, and counts as failed all that broke around it. */
export default class ClosingLine implements Reporter {
  onTestRunEnd(
    modules: readonly TestModule[],
    unhandled: readonly SerializedError[],
    reason: TestRunEndReason,
  ): void {
    const count = { passed: 0, failed: unhandled.length, skipped: 0, pending: 0 }
    for (const module of modules) {
      for (const test of module.children.allTests()) count[test.result().state]++
      count.failed += module.errors().length
      for (const suite of module.children.allSuites()) count.failed += suite.errors().length
    }
    count.failed += count.pending
    if (reason !== 'passed' && count.failed === 0) count.failed = 1
    // At exit, so that nothing is printed after it.
    process.once('exit', () =>
      process.stdout.write(
        `tests: ${count.passed} passed, ${count.failed} failed, ${count.skipped} skipped\n`,
      ),
    )
  }
}
