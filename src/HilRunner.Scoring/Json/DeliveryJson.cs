using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Json;

/// <summary>What score.json says of delivery, in both directions.</summary>
internal static class DeliveryJson
{
    private static readonly Dictionary<string, DeliveryOutcome> Outcomes =
        Enum.GetValues<DeliveryOutcome>().ToDictionary(Delivery.Word, StringComparer.Ordinal);

    private static readonly Dictionary<string, DeliveryFinding> Findings =
        Enum.GetValues<DeliveryFinding>().ToDictionary(f => f.ToString().ToLowerInvariant(), StringComparer.Ordinal);

    public static void Write(Utf8JsonWriter json, Delivery? delivery)
    {
        if (delivery is null)
        {
            json.WriteNull("delivery");
            return;
        }
        json.WriteStartObject("delivery");
        json.WriteString("outcome", Delivery.Word(delivery.Outcome));
        Write(json, "to_device", delivery.ToDevice);
        Write(json, "from_device", delivery.FromDevice);
        json.WriteBoolean("count_only", delivery.CountOnly);
        json.WritePropertyName("alive_until_s");
        if (delivery.AliveUntil is { } until)
        {
            json.WriteRawValue(ScoreWriter.Seconds(until.Ns));
        }
        else { json.WriteNullValue(); }
        json.WriteString("advice", delivery.Advice);
        json.WriteEndObject();
    }

    public static Delivery? Read(JsonElement e) => e.ValueKind == JsonValueKind.Null ? null : new()
    {
        ToDevice = ReadWay(e.GetProperty("to_device")),
        FromDevice = ReadWay(e.GetProperty("from_device")),
        CountOnly = e.GetProperty("count_only").GetBoolean(),
        AliveUntil = e.GetProperty("alive_until_s") is { ValueKind: not JsonValueKind.Null } until
            ? StimulusTime.FromSeconds(until.GetDecimal()) : null,
        Advice = ScoreReader.Text(e, "advice"),
    };

    private static void Write(Utf8JsonWriter json, string name, DeliveryWay way)
    {
        json.WriteStartObject(name);
        json.WriteString("outcome", Delivery.Word(way.Outcome));
        json.WriteStartArray("evidence");
        foreach (var evidence in way.Evidence)
        {
            json.WriteStartObject();
            json.WriteString("source", evidence.Source);
            json.WriteString("finding", evidence.Finding.ToString().ToLowerInvariant());
            json.WriteString("text", evidence.Text);
            Count("expected", evidence.Expected);
            Count("seen", evidence.Seen);
            json.WriteEndObject();
        }
        json.WriteEndArray();
        json.WriteEndObject();

        void Count(string key, long? count)
        {
            if (count is { } n) { json.WriteNumber(key, n); } else { json.WriteNull(key); }
        }
    }

    private static DeliveryWay ReadWay(JsonElement e) => new(
        ScoreWords.Find(Outcomes, ScoreReader.Text(e, "outcome"), "outcome of delivery"),
        [.. e.GetProperty("evidence").EnumerateArray().Select(v =>
            new DeliveryEvidence(ScoreReader.Text(v, "source"),
                ScoreWords.Find(Findings, ScoreReader.Text(v, "finding"), "finding"), ScoreReader.Text(v, "text"))
            {
                Expected = Count(v, "expected"),
                Seen = Count(v, "seen"),
            })]);

    private static long? Count(JsonElement e, string name) =>
        e.GetProperty(name) is { ValueKind: not JsonValueKind.Null } v ? v.GetInt64() : null;
}
