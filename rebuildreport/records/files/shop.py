"""shop.yaml: who the shop is, its money, its instruments and its decision rule."""

from typing import Annotated, Literal

from pydantic import Field

from ...quantities import Quantity, parse
from ...trade.measuring.gauges import is_set, transfers
from ..text.fields import (
    BareOrUnit,
    Commas,
    Count,
    Day,
    Length,
    Limit,
    Money,
    Percent,
    Record,
    Temperature,
    Text,
    WithUnit,
    YesNo,
    field,
)
from .commerce import AmountOrShare


class Rate(Record):
    """What an hour costs and what is taxed, from a date on."""

    from_: Day = Field(alias="from", description="first day of this rate")
    labour: Money = Field(description="price of one hour")
    tax: Percent = Field(description="tax on the net amount, as in 20 %")
    tax_on: dict[str, Percent] = Field(
        {}, description="parts, sublet, labour or consumables that are taxed otherwise"
    )
    consumables: AmountOrShare | None = Field(
        None, description="cleaner, rags, sealant: an amount for a job, or as in 3 % of labour"
    )
    consumables_most: Money | None = Field(None, description="no more than this for one job")


# For an instrument without certificate: those of its kind keep to 2 to 4 of their steps (common practice).
ASSUMED_STEPS = 5
ErrorOrUnknown = Annotated[
    Quantity | None, *field(lambda text: None if text == "unknown" else parse(text), "0.003 mm")
]


class InstrumentRecord(Record):
    """One measuring instrument as its certificate and the shop's own trials describe it."""

    kind: Text = Field(description="micrometer, bore gauge, dial indicator, feeler gauges ...")
    range: Limit = Field(
        description="smallest and largest reading, as in 75 to 100 mm; a difference over a tenth of it "
        "carries the permitted error"
    )
    resolution: WithUnit = Field(description="smallest step it shows, as in 0.001 mm")
    permitted_error: ErrorOrUnknown = Field(
        description="largest permitted error either way, without the error of its setting; or unknown: then "
        f"{ASSUMED_STEPS} of its steps are assumed, and the report says so"
    )
    repeatability: BareOrUnit | None = Field(
        None,
        description="standard deviation of repeats at one spot, pooled over many trials; of a telescopic or "
        "small-hole gauge that of the whole transfer",
    )

    @property
    def error(self) -> Quantity:
        """The permitted error; where nobody knows it, so many of its steps as are assumed."""
        if self.permitted_error is not None:
            return self.permitted_error
        value = round(ASSUMED_STEPS * self.resolution.value, 9)
        return Quantity(f"{value:g}", value, self.resolution.unit, self.resolution.decimals)

    setting_included: YesNo = Field(
        False, description="yes: the permitted error holds with its own setting ring or standard"
    )
    calibrated: Day | None = None
    due: Day | None = Field(None, description="calibration is valid until this day")

    @property
    def set_in_another(self) -> bool:
        """Whether its readings are only as good as the micrometer that it was set in, or carried to."""
        return (is_set(self.kind) or transfers(self.kind)) and not self.setting_included


class Mail(Record):
    """The shop's outgoing mail. The password never stands in a file: it comes from the environment."""

    sender: Text = Field(description="address that mail comes from, as in Name <shop@example.invalid>")
    server: Text = Field("", description="SMTP server; without it only drafts are written")
    port: Count | None = Field(None, description="587 with starttls, 465 with tls, where not stated")
    security: Literal["starttls", "tls", "none"] = Field(
        "starttls", description="none: for a server on this very machine only"
    )
    user: Text = ""
    largest: Count | None = Field(
        None, description="largest message in megabytes, where the server has a limit"
    )
    copy_to: Text = Field("", description="a blind copy goes to this address")
    enclose: Commas = Field([], description="issued documents that go along, as in measurement-record")
    link: Text = Field("", description="where the customer finds the pages, {job} for the job")


class SupplierRecord(Record):
    """Where orders go."""

    email: Text | None = Field(None, description="drafts of orders are addressed to it")
    address: Text | None = None
    telephone: Text | None = None
    customer_number: Text | None = Field(None, description="ours with them")


class GaugeFile(Record):
    """What a gauge's own software calls the columns of its CSV files."""

    feature: Text = ""
    position: Text = ""
    column: Text = ""
    reading: Text = ""
    unit: Text = ""
    instrument: Text = ""
    decimal: Literal["point", "comma"] = Field("point", description="what stands before its decimals")

    @property
    def called(self) -> dict[str, str]:
        """Heads of columns by what they hold, where the shop says them."""
        names = ("feature", "position", "column", "reading", "unit", "instrument")
        return {name: head for name in names if (head := getattr(self, name))}


PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # mm: ISO 216, ANSI/ASME Y14.1
EDGE = Quantity("0 mm", 0.0, "mm", 0)  # labels that fill the paper to its edge, and touch each other


class Labels(Record):
    """A sheet of labels as it is bought: rows and columns, alike to all four edges of the paper."""

    paper: Literal["A4", "Letter"] = "A4"
    columns: Count
    rows: Count
    top: Length = Field(EDGE, description="from the edge of the paper to the first row")
    left: Length = Field(EDGE, description="from the edge of the paper to the first column")
    across: Length = Field(EDGE, description="between two columns")
    down: Length = Field(EDGE, description="between two rows")
    link: Text = Field(
        "",
        description="where the code leads, {job} for the job: where the shop's own pages are served; "
        "else where the customer finds his, or the public ones",
    )

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of one label, in mm: what the edges and gaps leave of the paper."""
        wide, high = PAPER[self.paper]
        width = wide - 2 * self.left.to("mm") - (self.columns - 1) * self.across.to("mm")
        height = high - 2 * self.top.to("mm") - (self.rows - 1) * self.down.to("mm")
        return width / self.columns, height / self.rows


FORMAT = 3  # of all files: what changed is in STEPS of records/upgrading.py


class Shop(Record):
    """The house: one file in the shop's folder."""

    format: Count | None = Field(
        None, description=f"of all files of this folder: {FORMAT} today; the command upgrade states it"
    )

    name: Text
    contact: Text = Field(description="printed under the name")
    address: Text = Field("", description="street, postcode and place, commas between the lines")
    telephone: Text = Field("", description="to be called at, as on letters and orders")
    email: Text = Field("", description="printed at the head of letters")
    registration: Text = Field("", description="where the business is registered")
    tax_number: Text = Field("", description="as it must stand on an invoice")
    bank_account: Text = Field("", description="where a statement asks to be paid to")
    pay_within: Count | None = Field(None, description="days from a statement until it is to be paid")
    logo: Text = Field("", description="file beside shop.yaml: png, jpg or svg")
    paper: Literal["A4", "Letter"] = "A4"
    notice: Text = Field("", description="printed at the foot of every page")
    site: Text = Field(
        "", description="where the public edition stands, as in https://example.invalid/engines/"
    )
    public_words: Commas = Field(
        [], description="words that may stand on public pages although a customer has that name"
    )
    mail: Mail | None = None
    signing_key: Text = Field(
        "",
        description="PKCS#12 file that issued documents are signed with, as in ~/keys/shop.p12: outside "
        "this folder; its password never stands in a file",
    )
    labels: Labels | None = Field(None, description="sheets of labels for boxes and bags")
    suppliers: dict[str, SupplierRecord] = Field({}, description="by the names that parts give them")
    currency: Text = Field(description="three letters of ISO 4217, as in EUR")
    first_unit: Literal["mm", "in"] = Field(description="mm or in: what documents are printed in")
    second_unit: Literal["no", "beside limits", "everywhere"] = Field(
        "no", description="where the other system stands beside the first in customers' documents"
    )
    language: Text = Field("en", description="of all documents, unless a job says its customer's: en or de")
    decision_rule: Literal["guarded", "simple"] = Field(
        "guarded", description="guarded: ISO 14253-1 with g = 1.645 u; simple: value against limit"
    )
    soaked_within: Temperature | None = Field(
        None,
        description="how far part and instrument may differ after soaking, either way; 0.5 °C if left out",
    )
    rates: list[Rate] = []
    instruments: dict[str, InstrumentRecord] = {}
    gauge_file: GaugeFile | None = Field(None, description="for the command take: columns of CSV files")
