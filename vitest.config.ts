import { defineConfig } from 'vitest/config'

// The suffix tells what a test costs. Tests load code the way Node does, types stripped and nothing else.
const native = { experimental: { viteModuleRunner: false } }
const project = (name: string, include: string, more: object = {}) => ({
  test: {
    ...native,
    name,
    include: [`test/**/*.${include}.ts`],
    exclude: ['node_modules/**'],
    ...more,
  },
})

export default defineConfig({
  test: {
    ...native,
    allowOnly: false,
    // Much of a test is waiting for disks, databases and brokers: two at a time also on two cores.
    maxWorkers: 2,
    reporters: ['default', './test/closing-line.ts'],
    projects: [
      {
        test: {
          ...native,
          name: 'unit',
          include: ['test/**/*.test.ts'],
          exclude: ['node_modules/**', 'test/**/*.{prop,int,page}.test.ts'],
        },
      },
      project('law', 'prop.test', { testTimeout: 120_000 }),
      project('pages', 'page.test', {
        ...{ testTimeout: 120_000, hookTimeout: 120_000 },
        globalSetup: ['test/desk/shared-house.ts'],
      }),
      project('whole', 'int.test', { testTimeout: 120_000, hookTimeout: 120_000 }),
    ],
  },
})
