import { defineConfig } from 'vitest/config'

// Tests load code the way Node does, types stripped and nothing else.
const native = { experimental: { viteModuleRunner: false } }
const project = (name: string, include: string[], more: object = {}) => ({
  test: {
    ...native,
    name,
    include,
    exclude: ['node_modules/**'],
    ...more,
  },
})

// These change nothing of the process they run in, so many files are run in one: it loads their code once.
const shared = { isolate: false }
const patient = { testTimeout: 120_000, hookTimeout: 120_000 }
/** Of these, what needs no more than a database inside the process. */
const OF_RECORD = 'test/{access,events,plant,query,store,watch}/**/*.int.test.ts'
/** Its modules are loaded with stand-ins in the place of others. */
const SIMULATED = 'test/simulated/**/*.test.ts'

// The suffix tells what a test costs.
export default defineConfig({
  test: {
    ...native,
    allowOnly: false,
    // Much of a test is waiting for disks, databases and brokers: two at a time also on two cores.
    maxWorkers: 2,
    reporters: ['default', './test/closing-line.ts'],
    projects: [
      project('unit', ['test/**/*.test.ts'], {
        ...shared,
        exclude: ['node_modules/**', 'test/**/*.{prop,int,page}.test.ts'],
        testTimeout: 30_000,
      }),
      project('law', ['test/**/*.prop.test.ts'], {
        ...{ ...shared, ...patient },
        exclude: ['node_modules/**', SIMULATED],
      }),
      project('pages', ['test/**/*.page.test.ts'], {
        ...patient,
        globalSetup: ['test/desk/shared-house.ts'],
      }),
      project('record', [OF_RECORD], { ...shared, ...patient }),
      project('whole', ['test/**/*.int.test.ts', SIMULATED], {
        ...patient,
        exclude: ['node_modules/**', OF_RECORD],
      }),
    ],
  },
})
