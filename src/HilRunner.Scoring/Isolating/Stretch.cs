namespace HilRunner.Scoring.Isolating;

/// <summary>A stretch of so many equal steps, [From, To).</summary>
public readonly record struct Stretch(int From, int To)
{
    public int Length => To - From;

    /// <summary>
    /// The shortest stretch that still shows a failure: delta debugging on time, in which only what lies at the ends may go, since a cut in the middle would make motion that nobody made. Halves are tried first, then
    /// ever smaller pieces, from the front and from the back; in the end no step can be left out at either end.
    /// </summary>
    /// <param name="keep">What must stay in it.</param>
    /// <param name="shows">Whether a stretch shows it; each is asked for once.</param>
    public Stretch Shortest(Stretch keep, Func<Stretch, bool> shows)
    {
        ArgumentNullException.ThrowIfNull(shows);
        if (keep.From < From || keep.To > To || keep.Length < 1) { throw new ArgumentException("outside the stretch, or empty", nameof(keep)); }
        var known = new Dictionary<Stretch, bool>();
        Stretch best = this;
        bool Take(Stretch shorter)
        {
            if (shorter == best) { return false; }
            if (!known.TryGetValue(shorter, out bool answer)) { known[shorter] = answer = shows(shorter); }
            if (answer) { best = shorter; }
            return answer;
        }
        for (int piece = Math.Max(1, Length / 2); piece >= 1; piece /= 2)
        {
            while (Take(best with { From = Math.Min(best.From + piece, keep.From) }) || Take(best with { To = Math.Max(best.To - piece, keep.To) })) { }
        }
        return best;
    }
}
