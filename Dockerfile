# The program as it was built, on Node's long-term release. docker compose up runs it beside PostgreSQL (docs/running.md).
FROM node:24-bookworm-slim AS build
WORKDIR /build
COPY package.json package-lock.json .npmrc prisma.config.ts ./
COPY prisma prisma
RUN npm ci
COPY . .
RUN npm run build

FROM node:24-bookworm-slim
# Looks at films that are uploaded, and puts them into the form that browsers play.
RUN apt-get update && apt-get install -y --no-install-recommends ffmpeg && rm -rf /var/lib/apt/lists/*
ENV NODE_ENV=production HOST=0.0.0.0 PORT=3000 DATA_DIR=/data DEMO=off
WORKDIR /app
COPY package.json package-lock.json .npmrc ./
COPY build/launch.mjs build/
COPY prisma/generate.mjs prisma/
RUN npm ci --omit=dev && npm cache clean --force
COPY --from=build /build/built built
# Where the embedded database lies when no other is named.
RUN install -d -o node -g node /data
VOLUME /data
USER node
EXPOSE 3000
HEALTHCHECK --interval=10s --timeout=5s --start-period=60s --retries=3 \
  CMD ["node", "-e", "fetch(`http://127.0.0.1:${process.env.PORT}/ready`).then(({ ok }) => process.exit(ok ? 0 : 1), () => process.exit(1))"]
CMD ["node", "built/server/start.mjs"]
