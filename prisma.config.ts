import { defineConfig } from 'prisma/config'

// Generating needs no engine, yet the program looks for one to download: naming any file keeps it
// offline. Its migrate and db commands do need the real one, so they are left alone.
if (!process.argv.some((word) => word === 'migrate' || word === 'db')) {
  process.env.PRISMA_SCHEMA_ENGINE_BINARY ??= process.execPath
}

export default defineConfig({ schema: 'prisma/schema.prisma' })
