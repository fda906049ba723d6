using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Scenarios;

namespace HilRunner.Core.Signals;

/// <summary>The recordings of a scenario, each read once however often it is played.</summary>
internal sealed class RecordingShelf(string baseFolder)
{
    private readonly Dictionary<(string Path, ForeignFormat? Format), Recording> _read = [];
    private readonly List<StimulusSource> _sources = [];

    /// <summary>In order of first use; a path that is read in two ways stands once.</summary>
    public IReadOnlyList<StimulusSource> Sources => _sources;

    /// <exception cref="BadInputException">It cannot be read.</exception>
    public Recording Get(PlayStep step)
    {
        if (_read.TryGetValue((step.Path, step.Format), out var known)) { return known; }
        string path = Path.Combine(baseFolder, step.Path);
        var recording = step.Format is { } format ? RecordingFile.ReadForeign(path, format, baseFolder) : RecordingFile.Read(path);
        _read.Add((step.Path, step.Format), recording);
        if (_sources.All(s => s.Path != step.Path)) { _sources.Add(new(step.Path, FileHash.Sha256(path), recording.Info)); }
        return recording;
    }
}
