/* SPDX-License-Identifier: MIT */
/* Currency codes and prices. */
#include "permille/core/currency.h"

#include "permille/base/text.h"

#include <string.h>

/* In alphabetical order, each followed by a space. */
static const char codes[] =
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD "
    "CAD CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS "
    "GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW "
    "KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR "
    "MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR "
    "SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX "
    "USD UYU UZS VES VND VUV WST XAF XCD XOF XPF YER ZAR ZMW ";

bool pm_currency_known(const char *code)
{
    for (const char *at = codes; *at != '\0'; at += 4)
        if (strncmp(at, code, 3) == 0)
            return code[3] == '\0';
    return false;
}

static bool is_letter(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

enum pm_status pm_currency_read(const char *text, char *out, struct pm_error *err)
{
    char code[4] = "";
    size_t length = strlen(text);
    for (size_t i = 0; i < 3 && length == 3; i++)
        code[i] = is_letter(text[i]) ? (char)(text[i] & ~0x20) : '?';
    if (length != 3 || !pm_currency_known(code)) {
        return pm_fail(err, PM_INVALID,
                       "\"%s\" is no currency code known here (ISO 4217: EUR, GBP, USD...).", text);
    }
    memcpy(out, code, 4);
    return PM_OK;
}

/* Cuts the code from the front or the end; what is left is the number. */
static enum pm_status split_price(const char *text, char *code, char *number, size_t size,
                                  struct pm_error *err)
{
    size_t start = strspn(text, " "), end = strlen(text);
    while (end > start && text[end - 1] == ' ')
        end--;
    size_t front = start, back = end;
    while (front < end && is_letter(text[front]))
        front++;
    while (back > start && is_letter(text[back - 1]))
        back--;
    bool leads = front > start;
    size_t from = leads ? start : back, letters = leads ? front - start : end - back;
    if (letters == 0 || letters == end - start) {
        return pm_fail(err, PM_INVALID,
                       "The price \"%s\" needs an amount and a currency: 19.20 EUR.", text);
    }
    size_t first = leads ? front : start, last = leads ? end : back;
    if (letters > 7 || last - first >= size)
        return pm_fail(err, PM_INVALID, "\"%s\" is no price; write it as 19.20 EUR.", text);
    while (first < last && text[first] == ' ')
        first++;
    while (last > first && text[last - 1] == ' ')
        last--;
    memcpy(code, text + from, letters);
    code[letters] = '\0';
    memcpy(number, text + first, last - first);
    number[last - first] = '\0';
    return PM_OK;
}

enum pm_status pm_price_read(const char *text, pm_money *money, char *currency,
                             struct pm_error *err)
{
    char code[8], number[64], known[4];
    int64_t amount = 0;
    enum pm_status status = split_price(text, code, number, sizeof number, err);
    if (status == PM_OK)
        status = pm_currency_read(code, known, err);
    if (status == PM_OK)
        status = pm_decimal_read(number, 6, "The price", &amount, err);
    if (status == PM_OK) {
        *money = amount;
        memcpy(currency, known, 4);
    }
    return status;
}

enum pm_status pm_price_read_usual(const char *text, const char *usual, pm_money *money,
                                   char *currency, struct pm_error *err)
{
    char whole[80];
    const char *at = text;
    while (*at != '\0' && !is_letter(*at))
        at++;
    if (usual[0] == '\0' || *at != '\0' || at == text || strlen(text) + 5 > sizeof whole)
        return pm_price_read(text, money, currency, err);
    pm_print(whole, sizeof whole, "%s %s", text, usual);
    return pm_price_read(whole, money, currency, err);
}
