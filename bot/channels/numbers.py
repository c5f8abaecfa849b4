"""Phone numbers in the one form that is kept: E.164, such as +351900000000."""

from __future__ import annotations


def e164(written: str, region: str | None = None) -> str | None:
    """The number in E.164 (ITU-T), or None where it is none that can be texted from anywhere.

    `region` (ISO 3166, "PT") reads a number without its country code. A possible number of a
    range not given out is taken: whether it exists is for the network to say.
    """
    import phonenumbers
    from phonenumbers import NumberParseException, PhoneNumberFormat, ValidationResult

    try:
        number = phonenumbers.parse(written, region)
    except NumberParseException:
        return None
    if phonenumbers.is_possible_number_with_reason(number) != ValidationResult.IS_POSSIBLE:
        return None
    return str(phonenumbers.format_number(number, PhoneNumberFormat.E164))
