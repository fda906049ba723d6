using HilRunner.Core.Files;
using HilRunner.Core.Recordings;

namespace HilRunner.Core.Signals;

/// <summary>The recordings of a scenario, each read once however often it is played.</summary>
internal sealed class RecordingShelf(string baseFolder)
{
    private readonly Dictionary<(string Path, ForeignFormat? Format), Recording> _read = [];
    private readonly List<StimulusSource> _sources = [];

    /// <summary>In order of first use; a path that is read in two ways stands once.</summary>
    public IReadOnlyList<StimulusSource> Sources => _sources;

    /// <summary>The place of a recording that was got in <see cref="Sources"/>, from 1.</summary>
    public int NumberOf(string path) => _sources.FindIndex(s => s.Path == path) + 1;

    /// <exception cref="BadInputException">It cannot be read.</exception>
    public Recording Get(string path, ForeignFormat? format)
    {
        if (_read.TryGetValue((path, format), out var known)) { return known; }
        string full = Path.Combine(baseFolder, path);
        var recording = format is null ? RecordingFile.Read(full) : RecordingFile.ReadForeign(full, format, baseFolder);
        _read.Add((path, format), recording);
        if (_sources.All(s => s.Path != path)) { _sources.Add(new(path, FileHash.Sha256(full), recording.Info)); }
        return recording;
    }
}
