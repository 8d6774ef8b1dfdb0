"""Each stage and each hold has its sentence."""

from shopapp.models import Hold, Stage
from shopapp.queries.signs import HOLD_SENTENCES, STAGE_SENTENCES, signs_page


def test_legend_leaves_no_sign_out() -> None:
    page = signs_page()

    assert [sign.word for sign in page.stages] == [str(stage.label) for stage in Stage]
    assert [sign.code for sign in page.holds] == [f"hold-{hold}" for hold in Hold.values]
    assert (set(STAGE_SENTENCES), set(HOLD_SENTENCES)) == (set(Stage), set(Hold))


def test_legend_says_different_things() -> None:
    page = signs_page()

    sentences = [sign.sentence for sign in (*page.stages, *page.holds)]
    assert len(set(sentences)) == len(sentences)
    assert [sentence for sentence in sentences if not sentence.endswith(".")] == []
