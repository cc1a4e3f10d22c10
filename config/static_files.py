"""How static files are stored for serving: hashed names, compressed, imports between modules rewritten."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):
    """Hashed names inside `import` lines too; else a module would load twice, once under each of its names."""

    support_js_module_import_aggregation = True
