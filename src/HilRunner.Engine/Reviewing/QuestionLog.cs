using HilRunner.Core.Messages;
using HilRunner.Core.Statistics;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>
/// Questions that a device answers by their tokens, in the order in which they were asked. They can disprove delivery and show a
/// silence; they cannot prove that nothing else was lost.
/// </summary>
internal sealed class QuestionLog
{
    /// <summary>Fewer unanswered questions in a row are no silence.</summary>
    public const int FewestOfASilence = 5;
    /// <summary>A silence is what the loss before it explains less often than this.</summary>
    public const double ChanceOfASilence = 1e-6;
    /// <summary>Of all bounds on a share of lost questions.</summary>
    public const double Confidence = 0.95;

    private readonly List<(HostTime Asked, bool MidRun, HostTime? Answered, MessageKind? Kind)> _questions = [];
    private readonly Dictionary<ulong, int> _open = [];
    /// <summary>
    /// Questions without a token that are open, by what answers them, the latest on top: one that is asked again since its
    /// answer was late is answered twice.
    /// </summary>
    private readonly Dictionary<MessageKind, Stack<int>> _openByKind = [];

    public int Asked => _questions.Count;

    public int Answered => _questions.Count(q => q.Answered is not null);

    /// <param name="midRun">Asked while samples were played, or after them although the device answers then.</param>
    public void Ask(ulong token, HostTime at, bool midRun)
    {
        _open[token] = _questions.Count;
        _questions.Add((at, midRun, null, null));
    }

    /// <summary>A question whose answer names no token, so that the next answer of its kind answers the latest one.</summary>
    /// <param name="kind">Of the answer.</param>
    /// <param name="at">When it was asked.</param>
    /// <param name="after">Asked after the last sample of a device that answered before the first.</param>
    public void Ask(MessageKind kind, HostTime at, bool after)
    {
        if (!_openByKind.TryGetValue(kind, out var open)) { _openByKind[kind] = open = []; }
        open.Push(_questions.Count);
        _questions.Add((at, after, null, kind));
    }

    /// <summary>An answer without a token; one that nobody asked for is none.</summary>
    public void Answer(MessageKind kind, HostTime at)
    {
        if (_openByKind.TryGetValue(kind, out var open) && open.TryPop(out int index))
        {
            _questions[index] = _questions[index] with { Answered = at };
        }
    }

    /// <summary>When it was asked; null: nobody asked, or it was answered already.</summary>
    public HostTime? Answer(ulong token, HostTime at)
    {
        if (!_open.Remove(token, out int index)) { return null; }
        _questions[index] = _questions[index] with { Answered = at };
        return _questions[index].Asked;
    }

    /// <summary>
    /// The unanswered questions at the end, at least five; a silence is shown where the loss before them explains it less than
    /// once in a million. Null: there are fewer. A device that was never heard to answer is not silent: its question may be
    /// described wrongly.
    /// </summary>
    public Silence? SilenceAtEnd()
    {
        var questions = Described().ToList();
        int last = questions.FindLastIndex(q => q.Answered is not null);
        int unanswered = questions.Skip(last + 1).Count(q => q.MidRun);
        if (last < 0 || unanswered < FewestOfASilence) { return null; }
        int before = last + 1, lost = questions.Take(before).Count(q => q.Answered is null);
        double share = BinomialBounds.Upper(lost, before, Confidence)!.Value;
        return new(questions[last].Answered!.Value, questions[last + 1].Asked, unanswered,
            Math.Pow(share, unanswered) < ChanceOfASilence);
    }

    /// <summary>Questions asked and answered before a moment; null: all.</summary>
    public (int Asked, int Answered) Before(HostTime? moment)
    {
        var all = Described().Where(q => moment is not { } at || q.Asked < at).ToArray();
        return (all.Length, all.Count(q => q.Answered is not null));
    }

    /// <summary>
    /// Without those of a kind that the device never answered: who describes counters that it does not have learns nothing of the
    /// link by it.
    /// </summary>
    private IEnumerable<(HostTime Asked, bool MidRun, HostTime? Answered, MessageKind? Kind)> Described()
    {
        var answered = _questions.Where(q => q.Answered is not null).Select(q => q.Kind).ToHashSet();
        return _questions.Where(q => q.Kind is null || answered.Contains(q.Kind));
    }
}

/// <summary>From some instant to the end nothing was answered.</summary>
/// <param name="LastAnswer">When the last answer came.</param>
/// <param name="Since">When the first question was asked that was not answered.</param>
/// <param name="Unanswered">How many were not.</param>
/// <param name="IsShown">The loss before explains it less than once in a million; else the link may be at fault.</param>
internal sealed record Silence(HostTime LastAnswer, HostTime Since, int Unanswered, bool IsShown);
