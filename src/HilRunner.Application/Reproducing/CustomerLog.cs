using System.Globalization;
using HilRunner.Core;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Time;

namespace HilRunner.Application.Reproducing;

/// <summary>The log as recordings (a gap parts it), each with its place on the log's clock.</summary>
internal sealed class CustomerLog
{
    /// <summary>A clock that is past this counts from 1970, ns: a hundred million seconds, 1973.</summary>
    internal const long LeastEpochNs = 100_000_000_000_000_000;
    private const int MostReadings = 8;
    private readonly string _path;
    private readonly IReadOnlyList<PlannedRecording> _planned;
    private readonly Func<PlannedRecording, string> _file;

    private CustomerLog(string path, IReadOnlyList<PlannedRecording> planned, Func<PlannedRecording, string> file, IReadOnlyList<string> said) => (_path, _planned, _file, Said) = (path, planned, file, said);

    /// <summary>What was understood, guessed and parted: sentences.</summary>
    public IReadOnlyList<string> Said { get; }

    /// <param name="folder">Where the recordings go.</param>
    /// <exception cref="BadInputException">The log cannot be understood: its faults.</exception>
    public static CustomerLog Import(string path, ImportMap map, string folder)
    {
        var destination = new ImportDestination(folder, "log");
        // A gap is where nothing is known of the motion: what lies behind it is another recording.
        var survey = RecordingImport.Survey(path, map with { SplitAtGaps = true, SplitAtBadRows = true }, destination);
        RecordingImport.Write(survey);
        var said = new List<string>();
        if (survey.Recordings.Count > 1) { said.Add(FormattableString.Invariant($"the log is parted into {survey.Recordings.Count} stretches by gaps, jumps of its clock or unreadable rows: nothing is played across one")); }
        said.AddRange(survey.Doubts);
        return new(path, survey.Recordings, r => Path.Combine(folder, r.Name + ".csv"), said);
    }

    /// <summary>The complaint's place: by <c>--at</c>, or where the log's own class column says something else than is expected.</summary>
    /// <param name="expected">Null: the complaint is not about a class.</param>
    /// <exception cref="UsageException">No such moment, or several: lists them.</exception>
    public Complaint Find(string? at, string? expected)
    {
        var found = at is null ? ByClass(expected) : At(Moment.Parse(at), at);
        if (found.Count == 1) { return Complaint.Of(found[0].Recording, RecordingFile.Read(_file(found[0].Recording)), _file(found[0].Recording), found[0].At); }
        string option = at is null ? "--at" : $"--at {at}";
        if (found.Count == 0)
        {
            throw new UsageException(at is null
                ? $"{option} is missing, and {_path} has {(_planned.All(r => r.Labels.Count == 0) ? "no class column" : $"no stretch of a class other than {expected}")}; expected {Moment.Forms}"
                : $"{option}: not in {_path}, which {Reach()}; expected {Moment.Forms}");
        }
        string readings = string.Join(
            "; ", found.Take(MostReadings)
            .Select(f => $"{f.Said}: {Seconds(f.At)} after the start of {f.Recording.Name}{Clock(f.Recording, f.At)}"));
        string more = found.Count > MostReadings ? $"; and {found.Count - MostReadings} more" : "";
        throw new UsageException($"{option} may be {found.Count} moments of {_path}; say which: {readings}{more}");
    }

    private List<(PlannedRecording Recording, StimulusTime At, string Said)> At(Moment moment, string text) => moment switch
    {
        Moment.Sample s => BySample(s.Number),
        Moment.SinceStart s => OnLogsClock(_planned[0].Origin.Ns + s.Ns, $"{text} after the log's start"),
        Moment.Label l => [.. _planned.SelectMany(r => r.Labels.Where(i => i.Class == l.Name).Select(i => (r, new StimulusTime((i.Start.Ns + i.End.Ns) / 2), $"the middle of {l.Name} from {Seconds(i.Start)} to {Seconds(i.End)}")))],
        Moment.OnClock c when HasDate => [.. c.Readings.SelectMany(r => OnLogsClock(r.Ns, r.Said))],
        Moment.TimeOfDay t when HasDate => [.. Days().SelectMany(day => OnLogsClock(day + t.Time.Ticks * 100, $"on {DateTime.UnixEpoch.AddTicks(day / 100):yyyy-MM-dd}, by the face of the log's clock"))],
        _ => throw new UsageException($"--at {text}: the clock of {_path} has no date; expected a time since its start (754.2 s), a sample (#37710) or a label (label:bump)"),
    };

    private bool HasDate => _planned[0].Origin.Ns > LeastEpochNs;

    private IEnumerable<long> Days()
    {
        const long day = 86_400_000_000_000;
        for (long d = _planned[0].Origin.Ns / day * day; d <= _planned.Max(r => r.Origin.Ns + r.Duration.Ns); d += day) { yield return d; }
    }

    private List<(PlannedRecording Recording, StimulusTime At, string Said)> OnLogsClock(long ns, string said) =>
        [.. _planned.Where(r => ns >= r.Origin.Ns && ns < r.Origin.Ns + r.Duration.Ns).Select(r => (r, new StimulusTime(ns - r.Origin.Ns), said))];

    private List<(PlannedRecording Recording, StimulusTime At, string Said)> BySample(long number)
    {
        long before = 0;
        foreach (var recording in _planned)
        {
            if (number < before + recording.Samples) { return [(recording, recording.Rate.TimeOf(number - before), $"sample {number - before} of {recording.Name}")]; }
            before += recording.Samples;
        }
        return [];
    }

    private List<(PlannedRecording Recording, StimulusTime At, string Said)> ByClass(string? expected) => expected is null ? []
        : [.. _planned.SelectMany(r => Merged(r.Labels).Where(l => l.Class != expected).Select(l => (r, new StimulusTime((l.Start.Ns + l.End.Ns) / 2), $"{l.Class} from {Seconds(l.Start)} to {Seconds(l.End)}")))];

    private static IEnumerable<LabelInterval> Merged(IReadOnlyList<LabelInterval> labels)
    {
        LabelInterval? open = null;
        foreach (var label in labels)
        {
            if (open is not null && open.Class == label.Class && open.End >= label.Start) { open = open with { End = label.End }; continue; }
            if (open is not null) { yield return open; }
            open = label;
        }
        if (open is not null) { yield return open; }
    }

    private string Reach()
    {
        var (first, last) = (_planned[0], _planned[^1]);
        string length = Seconds(new(last.Origin.Ns + last.Duration.Ns - first.Origin.Ns));
        string clock = HasDate ? $" from {Stamp(first.Origin.Ns)} to {Stamp(last.Origin.Ns + last.Duration.Ns)} by its clock," : "";
        return $"reaches{clock} over {length}{(_planned.Count > 1 ? $", with gaps between its {_planned.Count} stretches" : "")}";
    }

    private string Clock(PlannedRecording recording, StimulusTime at) => HasDate ? $", {Stamp(recording.Origin.Ns + at.Ns)} by the log's clock" : "";

    internal static string Stamp(long ns) => DateTime.UnixEpoch.AddTicks(ns / 100).ToString("yyyy-MM-ddTHH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);

    private static string Seconds(StimulusTime t) => t.Seconds.ToString("0.###' s'", CultureInfo.InvariantCulture);
}
