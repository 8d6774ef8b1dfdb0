"""Static files under names that change with their content, also where one script names another."""

from whitenoise.storage import (  # type: ignore[import-untyped]  # ships no types
    CompressedManifestStaticFilesStorage,
)


class NamedByContent(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # as above
    """A page that came yesterday never meets half of today's scripts: each import names a content."""

    support_js_module_import_aggregation = True
    # one for each step of the longest chain of imports, and one to see that nothing changes any more
    max_post_process_passes = 15
