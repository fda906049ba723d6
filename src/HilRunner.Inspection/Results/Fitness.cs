namespace HilRunner.Inspection.Results;

/// <summary>How far a recording may be trusted; the worst finding decides. Ordered from good to bad.</summary>
public enum Fitness
{
    /// <summary>Nothing speaks against it.</summary>
    Fit,
    /// <summary>May be played, but its figures need the finding beside them.</summary>
    WithCare,
    /// <summary>Must not be played as it is: a reader refuses it, or what it says about motion is wrong.</summary>
    Unfit,
}

public static class FitnessWords
{
    /// <summary>As people and JSON read it.</summary>
    public static string Of(Fitness fitness) => fitness switch
    {
        Fitness.Fit => "fit",
        Fitness.WithCare => "usable with care",
        _ => "unfit",
    };
}
