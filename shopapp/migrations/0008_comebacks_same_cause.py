"""Whether a comeback came for the same cause: until now, whoever named where a job came from meant that."""

from typing import Any

from django.db import migrations, models


def fill(apps: Any, _schema_editor: Any) -> None:
    """What was named before the question was asked counts as the same cause."""
    Job = apps.get_model("shopapp", "Job")
    Job.objects.filter(caused_by_job__isnull=False).update(is_for_same_cause=True)


class Migration(migrations.Migration):
    dependencies = [("shopapp", "0007_erased_customers")]

    operations = [
        migrations.AddField(
            model_name="job",
            name="is_for_same_cause",
            field=models.BooleanField(blank=True, null=True),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("is_for_same_cause__isnull", True), ("caused_by_job__isnull", False), _connector="OR"
                ),
                name="job_same_cause_of_a_comeback",
            ),
        ),
    ]
