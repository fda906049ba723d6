using System.Globalization;
using HilRunner.Application.HostModels;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Application.Reproducing;

/// <summary>What speaks for a culprit, as sentences.</summary>
/// <param name="host">Name of what stands for the model on the host; null: nothing does.</param>
internal sealed class CaseEvidence(JobContext context, Symptom symptom, Rig rig, HostModel? model, string? host)
{
    /// <param name="telling">The play that tells most; null: none counts.</param>
    /// <param name="doubts">What speaks against the motion.</param>
    public IEnumerable<string> Of(Culprit culprit, IReadOnlyList<PlayedCase> plays, PlayedCase? telling, IReadOnlyList<string> doubts, Complaint complaint, Excerpt excerpt)
    {
        if (culprit == Culprit.Rig) { yield return $"the rig: {plays[0].Play.Spoiled}"; }
        if (symptom.IsAboutClass && telling is not null)
        {
            foreach (string said in AboutClass(culprit, [.. plays.Where(p => p.Play.Spoiled is null)], telling)) { yield return said; }
        }
        foreach (string doubt in doubts) { yield return doubt; }
        if (culprit == Culprit.NotReproduced && telling is not null)
        {
            yield return $"the device says {Said(telling.Play.Said)}{(symptom.Expected.Length > 0 && telling.Play.Said == symptom.Expected ? ", as expected" : "")}";
            yield return "what differs from the field: temperature, mounting, supply, and when the device was started; with a longer log before the complaint, and with the build of the customer's device, it may show";
        }
        if (!symptom.IsAboutClass && culprit == Culprit.Firmware) { yield return "a model of motion has no part in it"; }
        if (symptom.IsAboutClass && telling is not null && Agreement(complaint, excerpt, telling) is { } agreement) { yield return agreement; }
    }

    private IEnumerable<string> AboutClass(Culprit culprit, IReadOnlyList<PlayedCase> counted, PlayedCase telling)
    {
        if (host is not null)
        {
            int alike = counted.Count(p => p.HostSaid == p.Play.Said);
            yield return $"{host} says {Said(telling.HostSaid)} on the same samples; it agrees with the device in {alike} of {counted.Count} plays";
        }
        if (culprit == Culprit.Firmware && Parting(telling) is { } parting) { yield return parting; }
        var report = DeviceReport.Read(context, rig, telling.Play.Folder);
        if (report.Samples(telling.Stimulus) is { } samples) { yield return samples; }
        if (model?.Compare(report, telling.Stimulus) is { } compared) { yield return compared; }
        var exact = counted.Where(p => p.How == PlayedCase.Exact).ToList();
        if (culprit == Culprit.Firmware && exact.Any(p => p.Play.Shown) && !exact.All(p => p.Play.Shown)) { yield return "it does not show in every play of the very same samples: what differs lies in the device, not in the motion"; }
    }

    private static string Said(string? said) => said switch { null => "nothing that counts", "" => "nothing yet", _ => said };

    /// <summary>The first sample, and the question of the tree, at which device and model part.</summary>
    private string? Parting(PlayedCase played)
    {
        if (played.HostDecisions is not { } decided) { return null; }
        var device = played.Play.Decisions.Where(d => d.Output == symptom.Output && d.Time.Ns >= 0).OrderBy(d => d.Time.Ns).ToList();
        for (int i = 0; i < Math.Max(device.Count, decided.Count); i++)
        {
            Decision? d = i < device.Count ? device[i] : null, h = i < decided.Count ? decided[i] : null;
            if (d is not null && h is not null && d.Class == h.Class && (d.Sample is null || d.Sample == h.Sample)) { continue; }
            long at = Math.Min(d?.Sample ?? long.MaxValue, h?.Sample ?? long.MaxValue);
            string what = $"they part at sample {(at == long.MaxValue ? "unknown (the device gives none)" : at.ToString(CultureInfo.InvariantCulture))}: the device {One(d)}, the model {One(h)}";
            if (model is null || at == long.MaxValue) { return what; }
            // Where only the device decided, it took the way to its class; where only the model did, the device stayed on the way to its last one.
            string other = d?.Sample == at ? d.Class : device.Take(i).LastOrDefault()?.Class ?? "";
            return what + (model.Parting(played.Stimulus, at, other) is { } q
                ? string.Create(CultureInfo.InvariantCulture, $"; in the model the ways to {other} and elsewhere part at {q.Feature}, which is {q.Value} there and {(q.Yes ? "below" : "not below")} {q.Below}") : "");
        }
        return null;

        static string One(Decision? d) => d is null ? "says nothing more" : $"says {d.Class}{(d.Sample is { } n ? string.Create(CultureInfo.InvariantCulture, $" at sample {n}") : "")}";
    }

    /// <summary>What the log says that the device said, beside what it says now; null: the log does not say, or says what was expected of it.</summary>
    private string? Agreement(Complaint complaint, Excerpt excerpt, PlayedCase played)
    {
        if (complaint.Logged is null || complaint.Logged.Class == symptom.Expected) { return null; }
        long start = complaint.At.Ns - (excerpt.From.Ns + excerpt.To.Ns) / 2, same = 0, all = 0;
        const long step = 100_000_000;
        for (long t = 0; t < excerpt.Motion.Duration.Ns; t += step)
        {
            string? logged = complaint.Motion.Labels.FirstOrDefault(l => l.Start.Ns <= t + start && t + start < l.End.Ns)?.Class;
            string? now = played.Play.Decisions.Where(d => d.Output == symptom.Output && d.Time.Ns <= t && !symptom.Events.Contains(d.Class)).MaxBy(d => d.Time.Ns)?.Class;
            if (logged is null || now is null) { continue; }
            all++;
            if (logged == now) { same++; }
        }
        return all == 0 ? null : string.Create(CultureInfo.InvariantCulture, $"what the device says now is what the log says it said in {100.0 * same / all:0} % of the excerpt's {excerpt.Seconds:0.0} s");
    }
}
