using System.Globalization;
using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Scoring.Limits;

namespace HilRunner.Scoring.Json;

internal sealed class ScoreWriter(Utf8JsonWriter json)
{
    /// <summary>In the schema that the score has: what was read as schema 1 is written as it was.</summary>
    public void Write(Score score)
    {
        json.WriteStartObject();
        json.WriteNumber("schema", score.Schema);
        json.WriteString("verdict", Verdicts.Word(score.Verdict));
        Texts("reasons", score.Reasons);
        if (score.Schema >= ScoreJson.WithDelivery) { Texts("notes", score.Notes); }
        if (score.Outputs is [var only])
        {
            if (only.Output.Length > 0) { json.WriteString("output", only.Output); }
            WriteOutput(only);
        }
        else
        {
            Object("outputs", score.Outputs, o => o.Output, WriteOutput);
        }
        json.WriteStartArray("limits");
        foreach (var limit in score.Limits) { WriteLimit(limit); }
        json.WriteEndArray();
        WriteHealth(score.Health);
        WriteDevice(score.Device);
        WriteTiming(score.Timing);
        if (score.Schema >= ScoreJson.WithDelivery)
        {
            json.WriteBoolean("report_times_known", score.ReportTimesKnown);
            DeliveryJson.Write(json, score.Delivery);
        }
        json.WriteEndObject();
    }

    private void WriteOutput(OutputScore output)
    {
        WriteAgreement("strict", output.Strict);
        WriteAgreement("graced", output.Graced);
        json.WriteStartArray("trials");
        foreach (var trial in output.Trials) { WriteTrial(trial); }
        json.WriteEndArray();
        json.WriteStartObject("latency");
        WriteLatency("reaction", output.Reaction);
        WriteLatency("settling", output.Settling);
        WriteLatency("report", output.Report);
        json.WriteEndObject();
        Object("events", output.Events, e => e.Key, e =>
        {
            json.WriteNumber("hits", e.Value.Hits);
            json.WriteNumber("misses", e.Value.Misses);
            json.WriteNumber("false_alarms", e.Value.FalseAlarms);
            Number("false_alarms_per_hour", e.Value.FalseAlarmsPerHour);
            if (e.Value.AlarmsAtNs is not { } times) { return; }
            json.WriteStartArray("false_alarm_times_s");
            foreach (long ns in times) { json.WriteRawValue(Seconds(ns)); }
            json.WriteEndArray();
        });
        WriteChanges(output.Changes);
        Object("segments", output.Segments, s => s.Key, s => WriteSegments(s.Value));
    }

    private void WriteAgreement(string name, Agreement agreement)
    {
        json.WriteStartObject(name);
        Seconds("scored_s", agreement.ScoredNs);
        Object("confusion_s", agreement.ConfusionNs, r => r.Key, r =>
        {
            foreach (var (observed, ns) in r.Value.OrderBy(c => c.Key, StringComparer.Ordinal)) { Seconds(observed, ns); }
        });
        Number("accuracy", agreement.Accuracy);
        Number("balanced_accuracy", agreement.BalancedAccuracy);
        Number("kappa", agreement.Kappa);
        Number("mcc", agreement.Mcc);
        Object("per_class", agreement.PerClass, c => c.Key, c =>
        {
            Number("recall", c.Value.Recall);
            Number("precision", c.Value.Precision);
            Number("f1", c.Value.F1);
        });
        json.WriteEndObject();
    }

    private void WriteTrial(TrialScore trial)
    {
        json.WriteStartObject();
        json.WriteString("class", trial.Class);
        Seconds("start_s", trial.StartNs);
        Seconds("end_s", trial.EndNs);
        json.WriteBoolean("already", trial.Already);
        json.WriteBoolean("missed", trial.Missed);
        json.WriteBoolean("recognised", trial.Recognised);
        json.WriteBoolean("counted", trial.Counted);
        Seconds("reaction_s", trial.ReactionNs);
        Seconds("settling_s", trial.SettlingNs);
        Seconds("uncertainty_s", trial.UncertaintyNs);
        if (trial.HoldOpen) { json.WriteBoolean("hold_open", true); }
        Number("dropouts", trial.Dropouts);
        Number("chatter", trial.Chatter);
        Seconds("report_latency_s", trial.ReportLatencyNs);
        Seconds("report_uncertainty_s", trial.ReportUncertaintyNs);
        json.WriteEndObject();
    }

    private void WriteLatency(string name, IReadOnlyDictionary<string, LatencySummary> byClass) =>
        Object(name, byClass, c => c.Key, c =>
        {
            json.WriteNumber("n", c.Value.N);
            json.WriteNumber("missed", c.Value.Missed);
            json.WriteNumber("already", c.Value.Already);
            Number("p50", c.Value.P50);
            Number("p90", c.Value.P90);
            Number("p95", c.Value.P95);
            Number("p99", c.Value.P99);
            Number("max", c.Value.Max);
            Number("mean", c.Value.Mean);
            Seconds("uncertainty_s", c.Value.UncertaintyNs);
        });

    private void WriteChanges(ChangeScore changes)
    {
        json.WriteStartObject("changes");
        json.WriteNumber("observed", changes.Observed);
        json.WriteNumber("reference", changes.Reference);
        json.WriteNumber("surplus", changes.Surplus);
        Seconds("shortest_dwell_s", changes.ShortestDwellNs);
        Number("median_dwell_s", changes.MedianDwellS);
        Number("chatter_per_minute", changes.ChatterPerMinute);
        Number("surplus_per_minute", changes.SurplusPerMinute);
        json.WriteEndObject();
    }

    private void WriteSegments(SegmentScore segments)
    {
        var (reference, observed, time) = segments;
        json.WriteStartObject("reference");
        json.WriteNumber("correct", reference.Correct);
        json.WriteNumber("deletion", reference.Deletion);
        json.WriteNumber("fragmented", reference.Fragmented);
        json.WriteNumber("merged", reference.Merged);
        json.WriteNumber("fragmented_and_merged", reference.FragmentedAndMerged);
        json.WriteEndObject();
        json.WriteStartObject("observed");
        json.WriteNumber("correct", observed.Correct);
        json.WriteNumber("insertion", observed.Insertion);
        json.WriteNumber("fragmenting", observed.Fragmenting);
        json.WriteNumber("merging", observed.Merging);
        json.WriteNumber("fragmenting_and_merging", observed.FragmentingAndMerging);
        json.WriteEndObject();
        json.WriteStartObject("time_s");
        Seconds("true_positive", time.TruePositive);
        Seconds("insertion", time.Insertion);
        Seconds("merge", time.Merge);
        Seconds("overfill_start", time.OverfillStart);
        Seconds("overfill_end", time.OverfillEnd);
        Seconds("deletion", time.Deletion);
        Seconds("fragmentation", time.Fragmentation);
        Seconds("underfill_start", time.UnderfillStart);
        Seconds("underfill_end", time.UnderfillEnd);
        json.WriteEndObject();
    }

    private void WriteLimit(LimitOutcome outcome)
    {
        var limit = outcome.Limit;
        json.WriteStartObject();
        json.WriteString("limit", outcome.Text);
        Number("figure", outcome.Figure);
        json.WriteNumber("bound", outcome.Bound);
        json.WriteString("outcome", ScoreWords.Word(outcome.Outcome));
        json.WriteString("why", outcome.Why);
        json.WriteString("output", outcome.Output);
        json.WriteString("measure", LimitText.Name(limit.Measure));
        json.WriteString("class", limit.Class);
        json.WriteString("statistic", limit.Statistic is { } statistic ? LimitText.Name(statistic) : null);
        json.WriteString("direction", limit.AtMost is null ? "at_least" : "at_most");
        Number("confidence", limit.Confidence);
        json.WriteEndObject();
    }

    private void WriteHealth(RigHealth health)
    {
        json.WriteStartObject("health");
        json.WriteNumber("sent", health.Sent);
        json.WriteNumber("lost", health.Lost);
        json.WriteNumber("late", health.Late);
        Seconds("late_p50_s", health.LateP50Ns);
        Seconds("late_p99_s", health.LateP99Ns);
        Seconds("late_p999_s", health.LateP999Ns);
        Seconds("late_max_s", health.LateMaxNs);
        json.WriteNumber("frames_bad", health.FramesBad);
        json.WriteNumber("lines_unknown", health.LinesUnknown);
        json.WriteNumber("reconnects", health.Reconnects);
        Seconds("clock_uncertainty_s", health.ClockUncertaintyNs);
        json.WriteBoolean("incomplete", health.Incomplete);
        json.WriteStartArray("faults");
        foreach (string fault in health.Faults) { json.WriteStringValue(fault); }
        json.WriteEndArray();
        json.WriteEndObject();
    }

    private void WriteDevice(DeviceHealth device)
    {
        json.WriteStartObject("device");
        json.WriteNumber("resets", device.Resets);
        json.WriteNumber("silences", device.Silences);
        Number("clock_ppm", device.ClockPpm);
        Number("clock_ppm_uncertainty", device.ClockPpmUncertainty);
        json.WriteEndObject();
    }

    private void WriteTiming(RunTiming? timing)
    {
        if (timing is null)
        {
            json.WriteNull("timing");
            return;
        }
        json.WriteStartObject("timing");
        json.WriteNumber("exchanges", timing.Exchanges);
        json.WriteNumber("unanswered", timing.Unanswered);
        json.WriteNumber("epochs", timing.Epochs);
        Seconds("least_delay_s", timing.LeastDelayNs);
        Seconds("uneven_s", timing.UnevenNs);
        Seconds("byte_s", timing.ByteNs);
        Seconds("link_s", timing.LinkNs);
        json.WriteString("link_from", timing.LinkFrom);
        Seconds("stamp_s", timing.StampNs);
        json.WriteNumber("credit_waits", timing.CreditWaits);
        Seconds("credit_wait_s", timing.CreditWaitNs);
        json.WriteEndObject();
    }

    private void Texts(string name, IEnumerable<string> texts)
    {
        json.WriteStartArray(name);
        foreach (string text in texts) { json.WriteStringValue(text); }
        json.WriteEndArray();
    }

    /// <summary>An object with a key for each item, in ordinal order.</summary>
    private void Object<T>(string name, IEnumerable<T> items, Func<T, string> key, Action<T> body)
    {
        json.WriteStartObject(name);
        foreach (var item in items.OrderBy(key, StringComparer.Ordinal))
        {
            json.WriteStartObject(key(item));
            body(item);
            json.WriteEndObject();
        }
        json.WriteEndObject();
    }

    private void Seconds(string name, long? ns)
    {
        json.WritePropertyName(name);
        if (ns is not { } value)
        {
            json.WriteNullValue();
            return;
        }
        json.WriteRawValue(Seconds(value));
    }

    /// <summary>Decimal seconds, exact to the nanosecond.</summary>
    internal static string Seconds(long ns) => new StimulusTime(ns).Seconds.ToString("0.#########", CultureInfo.InvariantCulture);

    private void Number(string name, double? value)
    {
        if (value is { } v && double.IsFinite(v)) { json.WriteNumber(name, v); } else { json.WriteNull(name); }
    }

    private void Number(string name, int? value)
    {
        if (value is { } v) { json.WriteNumber(name, v); } else { json.WriteNull(name); }
    }
}
