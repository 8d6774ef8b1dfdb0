"""What the shop billed and received so far, in the rows that now say so: claims, jobs of lines, allocations."""

from typing import Any

from django.db import migrations
from django.db.models import OuterRef, Subquery


def fill(apps: Any, _schema_editor: Any) -> None:
    """Every billed plan line claims its line, every payment is allocated to the invoice it was taken for."""
    InvoiceLine = apps.get_model("shopapp", "InvoiceLine")
    BilledSource = apps.get_model("shopapp", "BilledSource")
    Payment = apps.get_model("shopapp", "Payment")
    Allocation = apps.get_model("shopapp", "Allocation")
    planned = InvoiceLine.objects.filter(plan_line__isnull=False)
    BilledSource.objects.bulk_create(
        [BilledSource(line_id=pk, plan_line_id=plan) for pk, plan in planned.values_list("pk", "plan_line_id")]
    )
    jobs = InvoiceLine.objects.filter(pk=OuterRef("pk")).values("plan_line__option__choice__job")
    planned.update(job_id=Subquery(jobs[:1]))
    visits = Payment.objects.filter(pk=OuterRef("pk")).values("invoice__work_order")
    Payment.objects.update(work_order_id=Subquery(visits[:1]))
    facts = Payment.objects.values_list("pk", "invoice_id", "amount_minor", "received_at")
    Allocation.objects.bulk_create(
        [
            Allocation(payment_id=pk, invoice_id=invoice, amount_minor=amount, allocated_at=moment)
            for pk, invoice, amount, moment in facts
        ]
    )


class Migration(migrations.Migration):
    dependencies = [("shopapp", "0002_whole_path")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
