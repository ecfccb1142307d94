# Fledge as docker-compose.yml runs it: built once, not run as root.
# The tag is exact. There is no digest, because no registry of images could be asked for one from
# where this was written; whoever wants one adds it here.
FROM python:3.13.9-slim-bookworm

ENV PYTHONUNBUFFERED=1 \
    UV_PROJECT_ENVIRONMENT=/opt/fledge/venv \
    UV_PYTHON_DOWNLOADS=never \
    UV_NO_CACHE=1 \
    UV_COMPILE_BYTECODE=1 \
    STATIC_ROOT=/opt/fledge/static \
    FLEDGE_DATA_DIR=/opt/fledge/data \
    FLEDGE_UPLOADS_DIR=/opt/fledge/uploads \
    FLEDGE_BACKUPS_DIR=/opt/fledge/backups

RUN pip install --no-cache-dir --root-user-action=ignore uv==0.13.9
WORKDIR /app

COPY pyproject.toml .python-version ./
RUN uv sync --quiet --no-dev

COPY manage.py LICENSE README.md ./
COPY athletes athletes
COPY library library
COPY program program
COPY static static
COPY templates templates
ENV PATH=/opt/fledge/venv/bin:$PATH
RUN python -m compileall -q manage.py athletes library program
RUN SECRET_KEY=$(python -c "import secrets; print(secrets.token_urlsafe(64))") python manage.py collectstatic --no-input --verbosity 0

RUN useradd --system --uid 10001 --no-create-home fledge && install -d -o fledge -g fledge /opt/fledge/data /opt/fledge/uploads /opt/fledge/backups
USER fledge
EXPOSE 8000
CMD ["python", "manage.py", "serve", "--address", "0.0.0.0", "--port", "8000", "--without-worker"]
