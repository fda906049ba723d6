using HilRunner.Core.Time;

namespace HilRunner.Engine.Recorders;

/// <summary>From <paramref name="At"/> on the motion is of this class; null: of none.</summary>
public readonly record struct LabelMark(HostTime At, string? Class);

/// <summary>Labels as they are set while a recording runs: each mark holds until the next one, and the last can be taken back.</summary>
public sealed class LabelTrack
{
    private readonly List<LabelMark> _marks = [];

    public IReadOnlyList<LabelMark> Marks => _marks;

    /// <summary>The class that is being labelled now; null: none.</summary>
    public string? Current => _marks.Count == 0 ? null : _marks[^1].Class;

    /// <summary>Counts every change, so that a reader knows when to look again.</summary>
    public int Version { get; private set; }

    /// <summary>False: it is that class already.</summary>
    /// <param name="at">Not before the last mark.</param>
    public bool Mark(HostTime at, string? @class)
    {
        if (@class == Current) { return false; }
        _marks.Add(new(_marks.Count > 0 && at < _marks[^1].At ? _marks[^1].At : at, @class));
        Version++;
        return true;
    }

    /// <summary>Takes the last mark back; null: there is none.</summary>
    public LabelMark? Undo()
    {
        if (_marks.Count == 0) { return null; }
        LabelMark last = _marks[^1];
        _marks.RemoveAt(_marks.Count - 1);
        Version++;
        return last;
    }
}
