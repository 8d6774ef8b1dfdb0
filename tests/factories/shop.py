"""The invented shop, with a federal and a provincial tax (rates invented for tests)."""

from datetime import date

from shopapp.models import KindTax, LabourRate, LineKind, MarkupBand, Shop, TaxCode, TaxRate


def found_shop(**changes: object) -> Shop:
    """Heron Inlet Outboards with tax on everything: 5 % and 7 %, side by side; labour only 5 %.

    Nearly every test begins with it, so rows of a kind are written together.
    """
    shop = Shop.objects.create(
        **{
            "id": 1,
            "name": "Heron Inlet Outboards",
            "address": "4 Slip Lane\nHeron Inlet",
            "phone": "604 555 0100",
            "tax_number": "TEST-0001",
            "currency": "CAD",
            "locale": "en_CA",
            "time_zone": "America/Vancouver",
            "consent_text": "I agree that the shop does the work chosen above for the price shown.",
            "consent_version": "1",
            "warranty_terms": "Warranty on parts and labour as stated for each option.",
        }
        | changes
    )
    both, labour = TaxCode.objects.bulk_create([TaxCode(name="Goods"), TaxCode(name="Labour")])
    TaxRate.objects.bulk_create(
        TaxRate(tax_code=code, name=name, rate_e6=rate, position=position, valid_from_date=date(2020, 1, 1))
        for code, position, name, rate in (
            (both, 1, "Federal", 50_000),
            (both, 2, "Provincial", 70_000),
            (labour, 1, "Federal", 50_000),
        )
    )
    KindTax.objects.bulk_create(
        KindTax(kind=kind, tax_code=labour if kind == LineKind.LABOUR else both) for kind in LineKind.values
    )
    LabourRate.objects.create(name="Shop labour", sell_rate_e4=1_200_000, is_usual=True)
    MarkupBand.objects.bulk_create(
        [MarkupBand(up_to_e4=500_000, markup_e4=6_000), MarkupBand(up_to_e4=None, markup_e4=3_500)]
    )
    return shop
