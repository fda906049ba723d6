namespace HilRunner.Core.Shakers;

/// <summary>What may be done to a motion so that it fits the envelope: only what was asked for.</summary>
public enum MotionFit
{
    None,
    /// <summary>All of it made smaller.</summary>
    Scale,
    /// <summary>Its lowest frequencies, which need the most room, left out.</summary>
    Filter,
}
