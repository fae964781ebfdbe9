"""The form for watching a practice: thin, with the line of code that does the same."""

from pmulab import panels


def test_the_demonstration_is_charted_with_pictures_and_sentences(here):
    form = panels.Watch("demo-practice")
    form._button.click()

    assert "Invented data for demonstration" in form.said.value
    assert form.details.value.count("<svg") == 3
    assert "Other things also changed or may have" in form.details.value
    assert "chart(place=&#x27;demo-practice&#x27;)" in form.line.value
    assert (here / "demo-practice" / "practice-charts.html").exists()


def test_a_blank_table_is_made_and_a_folder_without_one_is_told(here):
    form = panels.Watch("demo-practice")
    form.inputs["place"].value = " mine "
    form._button.click()
    assert "no table of clients" in form.said.value

    form._blank.click()
    assert "Written: mine/practice.xlsx" in form.said.value
    assert "begin_practice(folder=&#x27;mine&#x27;)" in form.line.value


def test_problems_of_the_table_are_listed(here):
    (here / "practice.csv").write_text("client_no,session_date\n1,soon\n")
    form = panels.Watch("practice.csv")
    form._button.click()

    assert "pmulab-look" in form.said.value
    assert "soon" in form.said.value
    assert "<svg" not in form.details.value
