using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;
using HilRunner.Engine.Recorders;

namespace HilRunner.Application.Recorders;

/// <summary>
/// Labels from a script: a class holds from the moment that the person marks, without a mark from a second after it was told, until the next
/// thing is told. What lies between has no label.
/// </summary>
internal sealed class ScriptLabels(PromptSchedule script, LabelTrack labels)
{
    /// <summary>A person who is told something has begun after this long, unless they say otherwise.</summary>
    public static readonly TimeSpan BegunAfter = TimeSpan.FromSeconds(1);

    private int _index = -1;
    private bool _labelled;

    /// <summary>The onset of what holds now was marked.</summary>
    public bool Marked { get; private set; }

    /// <summary>Brings the labels up to this moment; true when something else is told now.</summary>
    /// <param name="origin">Of the script, and <paramref name="now"/>: on the captures' clock.</param>
    public bool Advance(HostTime origin, HostTime now)
    {
        int index = script.IndexAt(new(now - origin));
        bool told = index != _index;
        while (_index < index)
        {
            if (_index >= 0 && !_labelled) { MarkBegun(origin); }
            _index++;
            (Marked, _labelled) = (false, false);
            var start = new HostTime(origin.Ns + (_index < script.Prompts.Count ? script.Prompts[_index].Start : script.End).Ns);
            labels.Mark(start, null);
        }
        if (_index >= 0 && _index < script.Prompts.Count && !_labelled && now - origin - script.Prompts[_index].Start.Ns >= BegunAfter.Ticks * 100) { MarkBegun(origin); }
        return told;
    }

    /// <summary>The person has begun at this moment.</summary>
    public void Mark(HostTime at)
    {
        if (_index < 0 || _index >= script.Prompts.Count || Marked) { return; }
        if (_labelled) { labels.Undo(); }
        labels.Mark(at, script.Prompts[_index].Class);
        (Marked, _labelled) = (true, true);
    }

    private void MarkBegun(HostTime origin)
    {
        long lengthNs = script.Prompts[_index].End - script.Prompts[_index].Start;
        _labelled = true;
        // Told for less than that: nothing of it is known to be the class.
        if (lengthNs <= BegunAfter.Ticks * 100) { return; }
        labels.Mark(new HostTime(origin.Ns + script.Prompts[_index].Start.Ns) + BegunAfter, script.Prompts[_index].Class);
    }
}
