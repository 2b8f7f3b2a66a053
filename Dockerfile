# One image for every service: docker build -t heat-to-pan:0.1.0 .
FROM node:24.21.0-slim AS client
WORKDIR /app
COPY package.json package-lock.json .npmrc ./
RUN npm ci --ignore-scripts
COPY prisma.config.ts ./
COPY prisma/schema.prisma prisma/schema.prisma
RUN CHECKPOINT_DISABLE=1 node node_modules/prisma/build/index.js generate --no-hints
COPY services services
RUN node services/desk/make/build.ts

FROM node:24.21.0-slim
ENV NODE_ENV=production
WORKDIR /app
COPY package.json package-lock.json .npmrc ./
RUN npm ci --omit=dev --omit=optional --omit=peer --ignore-scripts && npm cache clean --force
COPY services services
COPY schema schema
COPY prisma/migrations prisma/migrations
COPY --from=client /app/prisma/client prisma/client
COPY --from=client /app/services/desk/built services/desk/built
RUN mkdir -p /data /keys/public && chown -R node:node /data /keys
USER node
# Inside a container the loopback is nobody else's; who may come in is said where its port is published.
ENV HEAT_TO_PAN_DATA=/data HEAT_TO_PAN_HOST=0.0.0.0 HEAT_TO_PAN_PORT=4000
VOLUME /data
EXPOSE 4000
HEALTHCHECK --interval=10s --timeout=5s --start-period=60s --retries=3 \
  CMD ["node", "-e", "fetch(`http://127.0.0.1:${process.env.HEAT_TO_PAN_PORT}/health`).then(({ ok }) => process.exit(ok ? 0 : 1), () => process.exit(1))"]
ENTRYPOINT ["node", "services/start.ts"]
