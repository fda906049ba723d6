using System.Buffers;
using System.Text;
using System.Text.Json;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Axis;

/// <summary>
/// The axis as the script reads it: JSON inside the page. Times are whole nanoseconds; a double holds them exactly up to 104
/// days. Motion is min–max reduced to a finest level that fits the page's budget; the script builds the coarser ones.
/// </summary>
internal static class AxisJson
{
    /// <summary>Numbers of motion in a page: a million of two bytes are 2.7 MB of base64.</summary>
    internal const int MotionBudget = 1_000_000;

    public static Markup Of(AxisModel model)
    {
        var buffer = new ArrayBufferWriter<byte>();
        // The default encoder writes <, >, & and ' as \u escapes: the text cannot leave its script element.
        using (var json = new Utf8JsonWriter(buffer))
        {
            json.WriteStartObject();
            json.WriteNumber("end", model.Run.End.Ns);
            json.WriteNumber("milliHertz", model.Run.Manifest.Rate.MilliHertz);
            WriteClasses(json, model);
            WriteChannels(json, model);
            WriteReference(json, model);
            json.WriteStartArray("outputs");
            foreach (AxisOutput output in model.Outputs) { WriteOutput(json, model, output); }
            json.WriteEndArray();
            WriteRig(json, model);
            json.WriteEndObject();
        }
        return new(Encoding.UTF8.GetString(buffer.WrittenSpan));
    }

    private static void WriteClasses(Utf8JsonWriter json, AxisModel model)
    {
        json.WriteStartArray("classes");
        for (int i = 0; i < model.Colours.Names.Count; i++)
        {
            var (hue, ink, striped) = ClassColours.At(i);
            json.WriteStartArray();
            json.WriteStringValue(HtmlText.Visible(model.Colours.Names[i]));
            json.WriteStringValue(hue);
            json.WriteStringValue(ink);
            json.WriteNumberValue(striped ? 1 : 0);
            json.WriteEndArray();
        }
        json.WriteEndArray();
    }

    private static void WriteChannels(Utf8JsonWriter json, AxisModel model)
    {
        int buckets = Math.Max(1, MotionBudget / 2 / Math.Max(1, model.Channels.Count));
        json.WriteStartArray("channels");
        foreach (Channel channel in model.Channels)
        {
            // Up to twice as many buckets fit unreduced: one number each instead of two.
            MinMax reduced = MinMax.Reduce(channel.Samples, channel.Samples.Length <= buckets * 2L ? buckets * 2 : buckets);
            double[] values = reduced.SamplesPerBucket == 1 ? reduced.Min : [.. reduced.Min.Zip(reduced.Max, (a, b) => new[] { a, b }).SelectMany(v => v)];
            Packed packed = Packed.From(values);
            json.WriteStartObject();
            json.WriteString("name", HtmlText.Visible(channel.Name));
            json.WriteString("unit", channel.Unit);
            json.WriteNumber("low", channel.Low);
            json.WriteNumber("high", channel.High);
            json.WriteNumber("per", reduced.SamplesPerBucket);
            WritePacked(json, packed);
            json.WriteEndObject();
        }
        json.WriteEndArray();
    }

    private static void WriteReference(Utf8JsonWriter json, AxisModel model)
    {
        json.WriteStartArray("reference");
        foreach (var interval in model.Run.Reference.OrderBy(r => r.Start))
        {
            json.WriteStartArray();
            json.WriteNumberValue(interval.Start.Ns);
            json.WriteNumberValue(Math.Min(interval.End.Ns, model.Run.End.Ns));
            json.WriteNumberValue(model.Colours.IndexOf(interval.Class));
            json.WriteNumberValue(model.Run.Rules.Unscored.Contains(interval.Class) ? 0 : 1);
            json.WriteEndArray();
        }
        json.WriteEndArray();
    }

    private static void WriteOutput(Utf8JsonWriter json, AxisModel model, AxisOutput output)
    {
        json.WriteStartObject();
        json.WriteString("name", HtmlText.Visible(output.Name));
        json.WriteStartArray("steps");
        foreach (var (start, index) in model.Embedded(output.Timeline, AxisModel.MostSteps)) { json.WriteNumberValue(start); json.WriteNumberValue(index); }
        json.WriteEndArray();
        json.WriteStartArray("differences");
        foreach (Difference d in model.Embedded(output.Timeline.Differences, AxisModel.MostSteps))
        {
            json.WriteNumberValue(d.StartNs);
            json.WriteNumberValue(d.EndNs);
            json.WriteNumberValue(d.InGrace ? 1 : 0);
        }
        json.WriteEndArray();
        json.WriteStartArray("events");
        foreach (EventMark mark in output.Timeline.Events.Take(10_000))
        {
            json.WriteNumberValue(mark.AtNs);
            json.WriteNumberValue(model.Colours.IndexOf(mark.Class));
            json.WriteNumberValue(mark.Hit ? 1 : 0);
        }
        json.WriteEndArray();
        json.WriteStartArray("trials");
        foreach (TrialScore trial in output.Trials) { WriteTrial(json, model, trial); }
        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void WriteTrial(Utf8JsonWriter json, AxisModel model, TrialScore trial)
    {
        json.WriteStartArray();
        json.WriteNumberValue(trial.StartNs);
        json.WriteNumberValue(trial.EndNs);
        json.WriteNumberValue(model.Colours.IndexOf(trial.Class));
        if (trial.Missed || trial.ReactionNs is null) { json.WriteNullValue(); } else { json.WriteNumberValue(trial.ReactionNs.Value); }
        if (trial.SettlingNs is { } settling) { json.WriteNumberValue(settling); } else { json.WriteNullValue(); }
        json.WriteStringValue(TrialWords.Outcome(trial));
        json.WriteEndArray();
    }

    private static void WriteRig(Utf8JsonWriter json, AxisModel model)
    {
        if (model.Lateness is { } late)
        {
            json.WriteStartObject("late");
            json.WriteNumber("per", late.SamplesPerBucket);
            WritePacked(json, Packed.From(late.WorstMs));
            json.WriteEndObject();
        }
        json.WriteStartArray("incidents");
        foreach (RunIncident incident in model.Incidents.Take(1_000))
        {
            json.WriteStartArray();
            json.WriteNumberValue(incident.At!.Value.Ns);
            json.WriteStringValue(HtmlText.Visible(incident.What));
            json.WriteEndArray();
        }
        json.WriteEndArray();
    }

    private static void WritePacked(Utf8JsonWriter json, Packed packed)
    {
        json.WriteNumber("offset", packed.Offset);
        json.WriteNumber("step", packed.Step);
        json.WriteString("data", packed.Base64);
    }
}
