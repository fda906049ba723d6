namespace HilRunner.Core.Sweeps;

/// <summary>A value of the motion: one that stays, a range that is swept, or several with a sweep at each. In the base unit of its kind: g, or mHz.</summary>
public abstract record SweptValue;

public sealed record StillValue(decimal Value) : SweptValue;

/// <param name="By">From one level to the next; goes into <paramref name="To"/> − <paramref name="From"/> a whole number of times.</param>
public sealed record SweptRange(decimal From, decimal To, decimal By) : SweptValue
{
    /// <summary>Levels of one leg: as many as there are steps, since every leg begins at another place of its first step.</summary>
    public int Levels => (int)((To - From) / By);
}

/// <param name="Values">Two or more, rising.</param>
public sealed record EachValue(IReadOnlyList<decimal> Values) : SweptValue;
