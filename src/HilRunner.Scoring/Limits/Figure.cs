namespace HilRunner.Scoring.Limits;

/// <summary>A measure's value with the interval that its uncertainty leaves open.</summary>
/// <param name="Value">Null: not defined, for the reason in <paramref name="Why"/>.</param>
/// <param name="Why">Why there is no value, or what it came from ("41 of 46"); may be empty.</param>
internal readonly record struct Figure(double? Value, double? Low, double? High, string Why)
{
    public static Figure Exact(double value, string why = "") => new(value, value, value, why);

    public static Figure Undefined(string why) => new(null, null, null, why);

    /// <summary>A count or share that is null where its denominator is 0.</summary>
    public static Figure Of(double? value, string whyNull) => value is { } v ? Exact(v) : Undefined(whyNull);
}
