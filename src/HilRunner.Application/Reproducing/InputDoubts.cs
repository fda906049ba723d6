using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Models;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;
using HilRunner.Inspection;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;

namespace HilRunner.Application.Reproducing;

/// <summary>What speaks against the logged motion, or against the class that is expected of it.</summary>
internal static class InputDoubts
{
    /// <summary>Findings of a recording that can make a device wrong about motion that it would know.</summary>
    private static readonly HashSet<string> s_decisive =
        ["axes_exchanged", "bad_time", "clipping", "coarse", "frozen", "gravity_off", "missing_value", "slower_than_device", "stuck_axis", "wrong_unit", "zero_rows", "beyond_range"];

    /// <param name="runIn">Before the judged stretch, that the device still remembers, ns.</param>
    /// <param name="references">Recordings of the classes, known to be right.</param>
    public static IReadOnlyList<string> Of(Complaint complaint, Symptom symptom, long around, long runIn, IReadOnlyList<string> references, SampleRate rate, MotionModel? model, string work)
    {
        var options = new InspectionOptions { DeviceRate = rate, Model = model, Momentary = [.. symptom.Events] };
        var said = new List<string>();
        long from = Math.Max(0, complaint.At.Ns - around - runIn), to = complaint.At.Ns + around;
        bool logIsTruth = complaint.Logged?.Class == symptom.Expected;
        var log = Inspector.Inspect(InspectedFile.Read(complaint.File), options with { Reference = references.Count > 0 ? InspectedFile.Read(references[0]) : null });
        foreach (var finding in log.Findings)
        {
            // Of the whole log only what makes it unfit counts: a scale that is 3 % off makes no carrying of lying still.
            bool there = finding.Where.Count == 0 ? finding.Fitness == Fitness.Unfit || finding.Kind == "axes_exchanged" : finding.Where.Any(w => w.FromNs < to && w.ToNs > from);
            bool counts = s_decisive.Contains(finding.Kind) || (finding.Kind == "label_unlike" && logIsTruth);
            if (there && counts) { said.Add($"the log: {finding.What}; {finding.Remedy}"); }
        }
        if (symptom.Expected.Length > 0 && references.Count > 0 && Unlike(complaint, symptom, around, references, options, work) is { } unlike) { said.Add(unlike); }
        return said;
    }

    /// <summary>The complaint's stretch, held against segments of recordings that are known to be right.</summary>
    private static string? Unlike(Complaint complaint, Symptom symptom, long around, IReadOnlyList<string> references, InspectionOptions options, string work)
    {
        var known = references.Select(RecordingFile.Read).ToList();
        var motion = complaint.Motion;
        var channels = motion.ChannelNames.Where(c => known.All(k => k.ChannelNames.Contains(c))).ToList();
        if (known.Any(k => k.Rate != motion.Rate)) { return null; }
        long from = complaint.Logged?.Start.Ns ?? Math.Max(0, complaint.At.Ns - around), to = complaint.Logged?.End.Ns ?? Math.Min(motion.Duration.Ns, complaint.At.Ns + around);
        // A stretch that is no longer than a window says nothing; the log's own stretch is mostly longer.
        int first = (int)motion.Rate.SamplesBefore(new(from)), last = (int)motion.Rate.SamplesBefore(new(to));
        var data = channels.Select(_ => new List<double>()).ToArray();
        var labels = new List<LabelInterval>();
        foreach (var recording in known)
        {
            long start = motion.Rate.TimeOf(data[0].Count).Ns;
            for (int c = 0; c < channels.Count; c++) { data[c].AddRange(recording.Channels[recording.ChannelNames.ToList().IndexOf(channels[c])]); }
            labels.AddRange(recording.Labels.Select(l => l with { Start = l.Start + start, End = l.End + start }));
        }
        var own = new LabelInterval(motion.Rate.TimeOf(data[0].Count), motion.Rate.TimeOf(data[0].Count + last - first), symptom.Expected);
        for (int c = 0; c < channels.Count; c++) { data[c].AddRange(motion.Channels[motion.ChannelNames.ToList().IndexOf(channels[c])][first..last]); }
        string path = Path.Combine(PlainFile.CreateFolder(work), "against.csv");
        RecordingFile.Write(path, new Recording { Name = "against", Rate = motion.Rate, ChannelNames = channels, Channels = [.. data.Select(d => d.ToArray())], Labels = [.. labels, own] });
        var fit = Inspector.Inspect(InspectedFile.Read(path), options).Findings.Where(f => f.Kind == "label_unlike" && f.Where.Any(w => w.FromNs >= own.Start.Ns)).ToList();
        return fit.Count == 0 ? null : string.Create(CultureInfo.InvariantCulture, $"held against {references.Count} reference recording{(references.Count == 1 ? "" : "s")}, the stretch is unlike {symptom.Expected}: {fit[0].What}");
    }
}
