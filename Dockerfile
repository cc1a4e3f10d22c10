# Foliowright as an image for docker-compose.yml: the system packages, locked packages and front-end files come by the
# script, as on any machine; see `./foliowright fetch`. The app runs as a user without rights and writes to /data only.
FROM debian:13-slim

# pg_dump and pg_restore for backups; no older than the server in docker-compose.yml.
RUN apt-get update \
    && apt-get install --yes --no-install-recommends postgresql-client-17 \
    && rm -rf /var/lib/apt/lists/*

WORKDIR /app
# What the next step reads, and nothing else, so that it is kept while the app changes.
COPY foliowright requirements.lock requirements-uv.lock requirements-node.lock package.json package-lock.json .npmrc ./
COPY running/__init__.py running/front_end.py running/
RUN mkdir static && UV_COMPILE_BYTECODE=1 ./foliowright fetch && rm -rf /root/.cache /root/.npm /var/lib/apt/lists/*

COPY . .
RUN .venv/bin/python -m compileall -q -x '/\.venv/' . \
    && useradd --system --uid 10001 --no-create-home --home-dir /data --shell /usr/sbin/nologin foliowright \
    && install --directory --owner=foliowright --mode=700 /data

ENV PATH=/app/.venv/bin:$PATH \
    PYTHONUTF8=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    FOLIOWRIGHT_DATA=/data
USER 10001
VOLUME /data
EXPOSE 8000
CMD ["python", "manage.py", "serve", "--listen", "0.0.0.0"]
