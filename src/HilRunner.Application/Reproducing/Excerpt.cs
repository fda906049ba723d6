using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Application.Reproducing;

/// <summary>A piece of the customer's motion that is played on its own, and where in it the complaint is.</summary>
/// <param name="Motion">Without times of day, and without labels.</param>
/// <param name="From">Where what the device says is judged, in the motion's time.</param>
internal sealed record Excerpt(Recording Motion, StimulusTime From, StimulusTime To)
{
    /// <summary>Cuts it out of a longer one; what cannot be had is left out at the ends.</summary>
    /// <param name="around">Half of the stretch that is judged.</param>
    /// <param name="runIn">Motion before that stretch, for the device's filters and windows.</param>
    /// <param name="after">Motion behind it.</param>
    /// <param name="hop">It begins a whole number of these after the log does, so that the device's windows lie where they lay in the field; 1: that is not known.</param>
    public static Excerpt Cut(Recording motion, StimulusTime at, long around, long runIn, long after, long hop)
    {
        long end = motion.Duration.Ns;
        long from = Math.Max(0, at.Ns - around), to = Math.Min(end, at.Ns + around);
        var whole = new Excerpt(motion with { Labels = [] }, new(from), new(to));
        return whole.Between(Math.Max(0, from - runIn) / hop * hop, Math.Min(end, to + after));
    }

    /// <summary>The part [from, to) in ns; the judged stretch must lie in it.</summary>
    public Excerpt Between(long from, long to)
    {
        int first = (int)Motion.Rate.SamplesBefore(new(from)), last = (int)Math.Min(Motion.Rate.SamplesBefore(new(to)), Motion.SampleCount);
        long start = Motion.Rate.TimeOf(first).Ns;
        var channels = Motion.Channels.Select(c => c[first..last]).ToArray();
        long length = Motion.Rate.TimeOf(last - first).Ns;
        return new(Motion with { Channels = channels }, new(Math.Max(0, From.Ns - start)), new(Math.Min(length, To.Ns - start)));
    }

    public double Seconds => (double)Motion.Duration.Seconds;

    /// <summary>Writes recording, labels, side file and scenario: NAME-motion.csv and NAME.yaml.</summary>
    /// <param name="noise">In g on acceleration; 0: none.</param>
    /// <param name="shift">So much is left out at its start, ns.</param>
    /// <returns>The scenario.</returns>
    public SourceDocument Write(string folder, string name, Symptom symptom, string? provenance, double noise = 0, long shift = 0, string comment = "")
    {
        PlainFile.CreateFolder(folder);
        string file = $"{name}-motion.csv";
        var labels = symptom.Expected.Length > 0 ? [new LabelInterval(From, To, symptom.Expected)] : Array.Empty<LabelInterval>();
        RecordingFile.Write(Path.Combine(folder, file), Motion with { Name = name, Labels = labels, Info = Motion.Info with { Rate = Motion.Rate, Provenance = provenance } });
        var text = new System.Text.StringBuilder(comment);
        string from = shift > 0 ? $", from: {Text(shift)} s" : "", noisy = noise > 0 ? string.Create(CultureInfo.InvariantCulture, $", noise: {noise * 1000:0.###} mg") : "";
        text.Append(CultureInfo.InvariantCulture, $"scenario: {name}\nstimulus:\n  - {{play: {file}{from}{noisy}}}\n");
        bool momentary = symptom.Events.Contains(symptom.Expected);
        var events = symptom.Events.Where(e => e == symptom.Expected || e == symptom.Reported).Order(StringComparer.Ordinal).ToList();
        if (events.Count > 0) { text.Append(CultureInfo.InvariantCulture, $"events: [{string.Join(", ", events)}]\nwithin: {Symptom.Within.TotalSeconds} s\n"); }
        string output = symptom.Output.Length > 0 ? $", output: {symptom.Output}" : "";
        text.Append("limits:\n  - ").Append(symptom.Kind switch
        {
            SymptomKind.Restart => "{measure: device_resets, at_most: 0}",
            SymptomKind.Silence => "{measure: device_silences, at_most: 0}",
            SymptomKind.Clock => string.Create(CultureInfo.InvariantCulture, $"{{measure: device_clock_ppm, at_most: {symptom.MoreThan} ppm}}"),
            SymptomKind.Late => string.Create(CultureInfo.InvariantCulture, $"{{measure: report_latency, statistic: max, at_most: {symptom.MoreThan / 1e6} ms{output}}}"),
            _ when momentary => $"{{measure: missed, class: {symptom.Expected}, at_most: 0{output}}}",
            _ when events.Count > 0 => $"{{measure: false_alarms_per_hour, class: {symptom.Reported}, at_most: 0{output}}}",
            _ => $"{{measure: accuracy, at_least: 0.5{output}}}",
        }).Append('\n');
        string path = Path.Combine(folder, name + ".yaml");
        AtomicFile.WriteText(path, writer => writer.Write(text.ToString()));
        return new(path, FileHash.Sha256OfText(text.ToString()), text.ToString());
    }

    private static string Text(long ns) => (ns / 1e9m).ToString("0.#########", CultureInfo.InvariantCulture);
}
