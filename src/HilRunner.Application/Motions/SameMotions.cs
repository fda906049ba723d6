using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Likeness;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Application.Motions;

/// <summary>Two recordings that hold one motion, as it stands in batch.json.</summary>
/// <param name="First">Path, as its scenario names it.</param>
/// <param name="FirstSha256">Of its file.</param>
/// <param name="ShiftNs">What is at t in the second is at t + shift in the first.</param>
internal sealed record SameMotion(string First, string FirstSha256, string Second, string SecondSha256, long ShiftNs,
    long OverlapNs);

/// <summary>
/// Which recordings of a batch hold the same motion, found by their content: a motion counts once, however many names it has.
/// </summary>
internal sealed class SameMotions
{
    /// <summary>Hash → the recording that stands for it, and what is to be added to its times.</summary>
    private readonly Dictionary<string, (string Root, long ShiftNs)> _roots = [];
    private readonly Dictionary<string, string> _sources = [];

    /// <param name="sources">Hash → the source that its side file names, where it names one.</param>
    public SameMotions(IReadOnlyList<SameMotion> pairs, IReadOnlyDictionary<string, string> sources)
    {
        Pairs = pairs;
        foreach (var pair in pairs)
        {
            var (first, second) = (RootOf(pair.FirstSha256), RootOf(pair.SecondSha256));
            if (first.Root == second.Root) { continue; }
            // t in the second's root is t + shift in the first's.
            long shift = first.ShiftNs + pair.ShiftNs - second.ShiftNs;
            foreach (string hash in _roots.Where(r => r.Value.Root == second.Root).Select(r =>
                r.Key).Append(second.Root).Distinct().ToList())
            {
                _roots[hash] = (first.Root, RootOf(hash).ShiftNs + shift);
            }
            _roots[first.Root] = (first.Root, 0);
        }
        foreach (var group in _roots.GroupBy(r => r.Value.Root))
        {
            if (group.Select(r => r.Key).OrderBy(h => h != group.Key).Select(h =>
                sources.GetValueOrDefault(h)).FirstOrDefault(s => s is not null) is { } source)
            {
                _sources[group.Key] = source;
            }
        }
    }

    public static SameMotions None { get; } = new([], new Dictionary<string, string>());

    public IReadOnlyList<SameMotion> Pairs { get; }

    /// <summary>
    /// Of all recordings that are played; they are read again, since a stimulus holds only what the device hears.
    /// </summary>
    /// <param name="played">Folder of the scenario, and its recordings.</param>
    public static SameMotions Of(IEnumerable<(string Folder, IReadOnlyList<StimulusSource> Sources)> played)
    {
        var sources = played.SelectMany(p => p.Sources.Select(s => (p.Folder, Source: s))).DistinctBy(s =>
            s.Source.Sha256).ToList();
        if (sources.Count < 2) { return None; }
        var prints = new List<MotionPrint>();
        foreach (var (folder, source) in sources)
        {
            var recording = RecordingFile.Read(Path.Combine(folder, source.Path));
            prints.Add(MotionPrint.Of(recording.Rate, recording.ChannelNames, recording.Channels));
        }
        return new(
            [.. SharedMotions.Of(prints).Select(s => new SameMotion(
                sources[s.First].Source.Path, sources[s.First].Source.Sha256, sources[s.Second].Source.Path,
                    sources[s.Second].Source.Sha256, s.ShiftNs, s.OverlapNs))],
            Named(sources.Select(s => s.Source)));
    }

    /// <summary>As it was found when the batch began.</summary>
    public static SameMotions Stored(IReadOnlyList<SameMotion> pairs, IEnumerable<RunManifest> runs) =>
        pairs.Count == 0 ? None : new(pairs, Named(runs.SelectMany(r => r.Sources)));

    /// <summary>The motion that stands for it: trials of one stretch are one trial, whatever the recording is called.</summary>
    public TrialMotion On(TrialMotion motion)
    {
        if (!_roots.TryGetValue(motion.Recording, out var root)) { return motion; }
        return new(root.Root, motion.FromNs + root.ShiftNs, motion.ToNs + root.ShiftNs, _sources.GetValueOrDefault(root.Root));
    }

    public IReadOnlyList<PlayedTrial> On(IReadOnlyList<PlayedTrial> trials) =>
        Pairs.Count == 0 ? trials : [.. trials.Select(t => t with { Motion = On(t.Motion) })];

    public IReadOnlyList<HeardStretch> On(IReadOnlyList<HeardStretch> heard) =>
        Pairs.Count == 0 ? heard : [.. heard.Select(h => h with { Motion = On(h.Motion) })];

    public SuiteRun On(SuiteRun run) => run with { Played = On(run.Played), Heard = On(run.Heard) };

    /// <summary>A sentence for each pair.</summary>
    public IEnumerable<string> Told() => Pairs.Select(p => FormattableString.Invariant(
        $"{p.First} and {p.Second} hold the same motion, {p.OverlapNs / 1e9:0.0} s of it: it counts once"));

    private (string Root, long ShiftNs) RootOf(string hash) => _roots.TryGetValue(hash, out var root) ? root : (hash, 0);

    private static Dictionary<string, string> Named(IEnumerable<StimulusSource> sources)
    {
        var named = new Dictionary<string, string>();
        foreach (var source in sources.Where(s => s.Info.Source is not null)) { named.TryAdd(source.Sha256,
            source.Info.Source!); }
        return named;
    }
}
